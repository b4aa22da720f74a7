"""Slow damage: what grows while nobody sees it, so that when it is found matters."""

from riskmodel.consequence.slow.follows import (
    USES,
    loss_growth,
    slow_classes,
    slow_follows,
    slow_pairs,
    slow_steps,
)
from riskmodel.consequence.slow.told import slow_told

__all__ = ["USES", "loss_growth", "slow_classes", "slow_follows", "slow_pairs", "slow_steps", "slow_told"]
