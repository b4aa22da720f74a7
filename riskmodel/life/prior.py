"""Priors on a Weibull life: log-normal on its shape and on an early quantile of its age."""

from __future__ import annotations

import math
from dataclasses import dataclass

from riskmodel.errors import ParameterError
from riskmodel.life.weibull import log_log

# A recommended renewal age is read as this early quantile; the doubt about which quantile it is runs from
# QUANTILE_LOW to QUANTILE_HIGH. Judgement: a trade recommends renewal while most parts still hold.
QUANTILE = 0.10
QUANTILE_LOW, QUANTILE_HIGH = 0.02, 0.30
# Half-width of a 90 % normal interval in standard deviations.
NORMAL_90 = 1.6448536269514722
# Spread between sources when there is only one (judgement): about 1.5 times either way at 90 %.
ONE_SOURCE_LOG_SD = 0.25
# Shape when nothing is known of the mechanism (judgement): wears out, with room for 1.5 to 4.
WEAR_OUT_SHAPE, WEAR_OUT_LOG_SD = 2.5, 0.3
# 6 / pi**2, rounded: large-sample variance of log shape for each failure of a complete sample (from memory).
SHAPE_INFORMATION = 0.61


@dataclass(frozen=True)
class WeibullPrior:
    """Independent normals on log shape and on log t_q, the age by which a fraction ``quantile`` has failed.

    ``log_age_sd = inf`` and ``log_shape_sd = inf`` make the flat prior; ``log_shape_sd = 0`` fixes the shape.
    """

    log_shape: float
    log_shape_sd: float
    log_age: float
    log_age_sd: float
    quantile: float = QUANTILE

    def __post_init__(self) -> None:
        numbers = {"log_shape": self.log_shape, "log_age": self.log_age}
        for name, value in numbers.items():
            if not math.isfinite(value):
                raise ParameterError(f"{name} must be finite, got {value}")
        for name, value in {"log_shape_sd": self.log_shape_sd, "log_age_sd": self.log_age_sd}.items():
            if math.isnan(value) or value < 0:
                raise ParameterError(f"{name} must be 0 or more, got {value}")
        if self.log_age_sd == 0:
            raise ParameterError("log_age_sd must be above 0: a life known for certain needs no prior, got 0")
        if not 0 < self.quantile < 1:
            raise ParameterError(f"quantile must lie between 0 and 1, got {self.quantile}")

    @classmethod
    def from_interval(
        cls,
        low: float,
        high: float | None = None,
        *,
        shape: float = WEAR_OUT_SHAPE,
        shape_log_sd: float = WEAR_OUT_LOG_SD,
        source_log_sd: float = ONE_SOURCE_LOG_SD,
    ) -> WeibullPrior:
        """Prior from a recommended renewal age: an early quantile of life, never its scale or its median.

        Parameters
        ----------
        low, high : float
            The trade's renewal interval, any unit of time; one figure when ``high`` is left out.
        shape, shape_log_sd : float
            Median Weibull shape and its log standard deviation, from the failure mechanism.
        source_log_sd : float
            Least log standard deviation for disagreement between sources.
        """
        log_shape = _log_of("shape", shape)
        centre, spread = _centre_and_spread(low, high, source_log_sd)
        return cls(log_shape, shape_log_sd, centre, math.hypot(quantile_doubt(shape), spread))

    @classmethod
    def from_typical_life(
        cls,
        low: float,
        high: float | None = None,
        *,
        shape: float = WEAR_OUT_SHAPE,
        shape_log_sd: float = WEAR_OUT_LOG_SD,
        source_log_sd: float = ONE_SOURCE_LOG_SD,
    ) -> WeibullPrior:
        """Prior from a typical life: the median, turned into the early quantile at the median shape."""
        log_shape = _log_of("shape", shape)
        centre, spread = _centre_and_spread(low, high, source_log_sd)
        return cls(log_shape, shape_log_sd, centre + median_to_quantile(shape), spread)

    @classmethod
    def from_shape_and_quantile(
        cls, *, shape: tuple[float, float], quantile: tuple[float, float, float], level: float = 0.95
    ) -> WeibullPrior:
        """Prior with central ``level`` intervals ``shape = (low, high)`` and ``quantile = (p, low, high)``.

        ``p`` is the failed fraction, ``low`` and ``high`` the ages between which that quantile lies. Equal
        ends of ``shape`` fix it.
        """
        if not 0 < level < 1:
            raise ParameterError(f"level must lie between 0 and 1, got {level}")
        width = _normal_quantile(0.5 + level / 2)
        probability, low, high = quantile
        log_shape, shape_sd = _log_interval("shape", *shape, width)
        log_age, age_sd = _log_interval("quantile age", low, high, width)
        return cls(log_shape, shape_sd, log_age, age_sd, probability)

    @classmethod
    def flat(cls, *, shape: float | None = None) -> WeibullPrior:
        """Improper prior, flat on (log t_q, log shape): the mode is the maximum-likelihood fit.

        ``shape`` fixes the shape and leaves only the age flat.
        """
        if shape is None:
            return cls(0.0, math.inf, 0.0, math.inf)
        return cls(_log_of("shape", shape), 0.0, 0.0, math.inf)

    @property
    def worth_on_life(self) -> float:
        """How many failures the prior on life is worth: 1 / (shape * sd)**2."""
        return 1.0 / (math.exp(self.log_shape) * self.log_age_sd) ** 2

    @property
    def worth_on_shape(self) -> float:
        """How many failures the prior on shape is worth."""
        return math.inf if self.log_shape_sd == 0 else SHAPE_INFORMATION / self.log_shape_sd**2


def quantile_doubt(shape: float) -> float:
    """Log standard deviation of t_0.10 from not knowing which early quantile a renewal age is.

    The quantile may lie anywhere in 2 % to 30 %: that range, on the log-age axis, over 3.3 (a 90 % width).
    """
    return float((log_log(QUANTILE_HIGH) - log_log(QUANTILE_LOW)) / (2 * NORMAL_90 * shape))


def median_to_quantile(shape: float) -> float:
    """What to add to a log median age to reach log t_0.10 at this shape (negative)."""
    return float((log_log(QUANTILE) - log_log(0.5)) / shape)


def _centre_and_spread(low: float, high: float | None, floor: float) -> tuple[float, float]:
    top = low if high is None else high
    if not (0 < low <= top < math.inf):
        raise ParameterError(f"interval must be positive with low <= high, got {low} to {top}")
    return 0.5 * (math.log(low) + math.log(top)), max(floor, 0.5 * math.log(top / low) / NORMAL_90)


def _log_interval(name: str, low: float, high: float, width: float) -> tuple[float, float]:
    if not (0 < low <= high < math.inf):
        raise ParameterError(f"{name} must be positive with low <= high, got {low} to {high}")
    return 0.5 * (math.log(low) + math.log(high)), 0.5 * math.log(high / low) / width


def _log_of(name: str, value: float) -> float:
    if not (0 < value < math.inf):
        raise ParameterError(f"{name} must be positive and finite, got {value}")
    return math.log(value)


def _normal_quantile(probability: float) -> float:
    from statistics import NormalDist

    return NormalDist().inv_cdf(probability)
