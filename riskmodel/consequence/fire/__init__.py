"""Fuel vapour and fire: what leaks, how strong the vapour gets, what the blower clears, and what sets it off."""

from riskmodel.consequence.fire.follows import USES, fire_classes, fire_follows
from riskmodel.consequence.fire.steps import vapour_steps
from riskmodel.consequence.fire.told import fire_steps

__all__ = ["USES", "fire_classes", "fire_follows", "fire_steps", "vapour_steps"]
