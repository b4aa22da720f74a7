"""Consequences: what may follow when a part lets go, what stops it, and what it costs."""

from riskmodel.consequence.areas import fuel_and_openings
from riskmodel.consequence.background import background_of_boats
from riskmodel.consequence.barriers import barrier_needs, barriers_against
from riskmodel.consequence.following import Following, area_steps, item_following
from riskmodel.consequence.losses import drawn_losses, most_lost, vessel_losses
from riskmodel.consequence.needs import INJURY, TABLE
from riskmodel.consequence.parts import boats_with_pumps, parts_on_boats
from riskmodel.consequence.paths import item_paths
from riskmodel.consequence.severity import MONEY_SCALE, outcome_categories

__all__ = [
    "INJURY",
    "MONEY_SCALE",
    "TABLE",
    "Following",
    "area_steps",
    "background_of_boats",
    "barrier_needs",
    "barriers_against",
    "boats_with_pumps",
    "drawn_losses",
    "fuel_and_openings",
    "item_following",
    "item_paths",
    "most_lost",
    "outcome_categories",
    "parts_on_boats",
    "vessel_losses",
]
