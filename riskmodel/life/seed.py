"""Turns what the trade says of a class, several intervals that may disagree, into a prior and an upkeep."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskmodel.errors import ParameterError
from riskmodel.life.ages import Upkeep
from riskmodel.life.prior import (
    NORMAL_90,
    ONE_SOURCE_LOG_SD,
    WeibullPrior,
    median_to_quantile,
    quantile_doubt,
)
from riskmodel.trade import Interval, ItemClass

SEEDING = ("renew_by", "typical_life")
MONTHS = 12.0


@dataclass(frozen=True)
class Seed:
    """A class's prior on the age at which it lets go (years), and the interval rows it came from."""

    prior: WeibullPrior
    upkeep: Upkeep
    intervals: tuple[Interval, ...]


def seed_class(item_class: ItemClass, shares: tuple[float, float, float]) -> Seed:
    """Prior and upkeep of a class from its trade intervals; ``shares`` of owners who keep to the interval.

    ``renew_by`` rows are read as the age by which 10 % have failed, with the doubt about that fraction;
    ``typical_life`` rows as medians; looks and opportunities seed nothing. Rows about needing work are moved
    to letting go by the warning time. Disagreement between rows widens the prior.

    Raises
    ------
    ParameterError
        When no interval in years seeds a life.
    """
    rows = tuple(row for row in item_class.intervals if row.meaning in SEEDING and row.unit == "years")
    if not rows:
        raise ParameterError(
            f"item class {item_class.item_class}: no renew_by or typical_life interval in years"
        )
    warning = warning_years(item_class)
    shape = item_class.mechanism.shape
    ages = np.array([_early_ages(row, shape, warning if row.grade == "needs_work" else 0.0) for row in rows])
    centre = float(ages.mean())
    spread = 0.5 * float(ages.max() - ages.min()) / NORMAL_90
    if len(rows) == 1:
        spread = max(spread, ONE_SOURCE_LOG_SD)
    renew_share = sum(row.meaning == "renew_by" for row in rows) / len(rows)
    doubt = math.sqrt(renew_share) * quantile_doubt(shape)
    prior = WeibullPrior(
        math.log(shape), item_class.mechanism.log_sd, centre, math.hypot(doubt, max(spread, 0.05))
    )
    return Seed(prior, Upkeep(renewal_age(item_class), warning, shares), rows)


def renewal_age(item_class: ItemClass) -> float:
    """Age (years) at which the trade renews a class: its renewal intervals' middle, else its typical life."""
    named = [row for row in item_class.intervals if row.unit == "years" and row.meaning == "renew_by"]
    rows = named or [
        row for row in item_class.intervals if row.unit == "years" and row.meaning == "typical_life"
    ]
    return math.exp(float(np.mean([0.5 * (math.log(row.low) + math.log(row.high)) for row in rows])))


def warning_years(item_class: ItemClass) -> float:
    """Typical time (years) from visibly needing work to letting go: the middle of the class's range."""
    return math.sqrt(item_class.warning_low_months * item_class.warning_high_months) / MONTHS


def _early_ages(row: Interval, shape: float, warning: float) -> tuple[float, float]:
    """Log t_0.10 at the row's two ends."""
    shift = median_to_quantile(shape) if row.meaning == "typical_life" else 0.0
    return math.log(row.low + warning) + shift, math.log(row.high + warning) + shift
