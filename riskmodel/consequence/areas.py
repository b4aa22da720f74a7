"""The areas of physics: which classes each answers for, what it asks of a part and its boat, and its answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pandas as pd

from riskmodel.consequence import carbon_monoxide, fire, holding, slow
from riskmodel.consequence.exhaust_told import carbon_monoxide_steps
from riskmodel.consequence.flooding.follows import USES as FLOODING_USES
from riskmodel.consequence.flooding.follows import flooding_follows
from riskmodel.consequence.flooding.openings import opening_classes
from riskmodel.consequence.flooding.steps import flooding_steps
from riskmodel.consequence.follow import Follow
from riskmodel.consequence.told import Line
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade


@dataclass(frozen=True)
class Area:
    """One area: its name, the classes it answers for, the columns it uses, its answer by end state, the end state by
    which it hurts people, and its steps in words (what, value, source) for one kind."""

    name: str
    classes: Callable[[Trade], frozenset[str]]
    uses: tuple[str, ...]
    follows: Callable[[pd.DataFrame, Trade, Hypercube], Mapping[str, Follow]]
    hurts_by: str
    steps: Callable[[pd.DataFrame, Trade, Hypercube], tuple[Line, ...]]


AREAS = (
    Area("flooding", opening_classes, FLOODING_USES, flooding_follows, "sinking_under_way", flooding_steps),
    Area("fire", fire.fire_classes, fire.USES, fire.fire_follows, "fire_explosion", fire.fire_steps),
    Area(
        "carbon monoxide",
        carbon_monoxide.carbon_monoxide_classes,
        carbon_monoxide.USES,
        carbon_monoxide.carbon_monoxide_follows,
        "carbon_monoxide",
        carbon_monoxide_steps,
    ),
    Area("slow damage", slow.slow_classes, slow.USES, slow.slow_follows, "", slow.slow_told),
    Area(
        "holding",
        holding.holding_classes,
        holding.USES,
        holding.holding_follows,
        "loss_of_holding",
        holding.holding_told,
    ),
)


def fuel_and_openings(trade: Trade) -> frozenset[str]:
    """Classes that hold fuel or stand between the boat and the sea: what is found suspect there is opened up first."""
    return opening_classes(trade) | frozenset(row.item_class for row in trade.fuel_leaks)
