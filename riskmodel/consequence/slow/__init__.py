"""Slow damage: what grows while nobody sees it, so that when it is found matters."""

from riskmodel.consequence.slow.follows import (
    RUNNING_SHARE,
    USES,
    WATER_SHARE,
    loss_growth,
    slow_classes,
    slow_follows,
    slow_needs,
    slow_pairs,
    slow_steps,
)
from riskmodel.consequence.slow.told import slow_told

__all__ = [
    "RUNNING_SHARE",
    "USES",
    "WATER_SHARE",
    "loss_growth",
    "slow_classes",
    "slow_follows",
    "slow_needs",
    "slow_pairs",
    "slow_steps",
    "slow_told",
]
