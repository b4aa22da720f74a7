"""Turns what the trade says of a class, several intervals that may disagree, into a prior and an upkeep."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskmodel.errors import ParameterError
from riskmodel.life.ages import Upkeep
from riskmodel.life.pooling import Doubt, common_doubt
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
# Sources that happen to agree are still not sure to a few per cent (judgement).
LEAST_SOURCE_SD = 0.15


@dataclass(frozen=True)
class Seed:
    """A class's prior on the age at which it lets go (years), the interval rows it came from, and how its doubt splits
    between its sources and the reading of renewal intervals that all classes share."""

    prior: WeibullPrior
    upkeep: Upkeep
    intervals: tuple[Interval, ...]
    doubt: Doubt


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
    warning = warning_years(item_class)
    prior, doubt, rows = _prior(item_class, "years", warning)
    return Seed(prior, Upkeep(renewal_age(item_class), warning, shares), rows, doubt)


def seed_hours(item_class: ItemClass, hours_per_year: float) -> WeibullPrior:
    """Prior on the running hours at which a class lets go; ``hours_per_year`` turns its warning time into hours.

    Raises ParameterError when no interval in hours seeds a life.
    """
    return _prior(item_class, "hours", warning_years(item_class) * hours_per_year)[0]


def _prior(
    item_class: ItemClass, unit: str, warning: float
) -> tuple[WeibullPrior, Doubt, tuple[Interval, ...]]:
    rows = tuple(row for row in item_class.intervals if row.meaning in SEEDING and row.unit == unit)
    if not rows:
        raise ParameterError(
            f"item class {item_class.item_class}: no renew_by or typical_life interval in {unit}"
        )
    shape = item_class.mechanism.shape
    ages = np.array([_early_ages(row, shape, warning if row.grade == "needs_work" else 0.0) for row in rows])
    least = ONE_SOURCE_LOG_SD if len(rows) == 1 else LEAST_SOURCE_SD
    source = max(0.5 * float(ages.max() - ages.min()) / NORMAL_90, least)
    renew_share = sum(row.meaning == "renew_by" for row in rows) / len(rows)
    doubt = math.sqrt(renew_share) * quantile_doubt(shape)
    prior = WeibullPrior(
        math.log(shape), item_class.mechanism.log_sd, float(ages.mean()), math.hypot(doubt, source)
    )
    return prior, Doubt(source, doubt / common_doubt()), rows


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
