"""Holding: anchor gear that parts, the drift that follows, and who stops it."""

from riskmodel.consequence.holding.follows import USES, holding_classes, holding_follows, holding_steps
from riskmodel.consequence.holding.told import holding_told

__all__ = ["USES", "holding_classes", "holding_follows", "holding_steps", "holding_told"]
