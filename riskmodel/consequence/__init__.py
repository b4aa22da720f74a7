"""Consequences: what may follow when a part lets go, what stops it, and what it costs."""

from riskmodel.consequence.barriers import barrier_needs, stopping
from riskmodel.consequence.losses import vessel_losses
from riskmodel.consequence.paths import item_paths

__all__ = ["barrier_needs", "item_paths", "stopping", "vessel_losses"]
