"""A scikit-learn estimator of lives, so that they can stand in a Pipeline and be cross-validated."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils.validation import check_consistent_length, check_is_fitted, column_or_1d, validate_data

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.life.life import fit_life
from riskmodel.life.predictive import log_likelihoods
from riskmodel.life.prior import WEAR_OUT_LOG_SD, WEAR_OUT_SHAPE, WeibullPrior
from riskmodel.life.rows import LifeRows
from riskmodel.life.surroundings import RatePrior, fit_in_surroundings
from riskmodel.life.weibull import LARGEST_EXPONENT

# One prior standard deviation of a column's ageing rate (judgement): a part ages up to e**0.5, 1.6 times as fast.
RATE_SD = 0.5
FIELDS = ("lower", "upper", "entry")


class WeibullLife(RegressorMixin, BaseEstimator):  # type: ignore[misc]  # scikit-learn ships no types
    """A Weibull life learned from ages at failure and survival, with surroundings that make the clock run faster.

    ``X`` (n, p) holds a part's surroundings, numbers in any unit (warm water 0 or 1, degrees above the usual, ...), a
    row a part. Zero in every column is the surroundings that the trade interval presumes; scale columns to about one.
    ``y`` says how long each part lived, in any unit of time:

    * (n, 2) or (n, 3): ``lower, upper`` and perhaps ``entry``, as in LifeRows (upper = inf: still whole at lower;
      entry: age from which it was watched), or a structured array or frame with columns of these names;
    * (n,): exact ages at failure.

    Parameters
    ----------
    interval_low, interval_high : float, optional
        The trade's renewal interval, in the unit of ``y``, as WeibullPrior.from_interval takes it. Left out, the prior
        is flat on life, and at least two failures at different ages are needed.
    shape, shape_log_sd : float
        Middle of the Weibull shape and the spread of its log.
    coefficient_sd : float
        Prior standard deviation of each column's ageing rate, around 0; inf is flat.

    Attributes
    ----------
    life_ : Life
        Posterior of the life where every column is 0, the ageing rates held at their most probable values.
    ageing_rates_ : (p,) ndarray
        A part in surroundings x ages exp(x @ ageing_rates_) times as fast.
    ageing_rates_sd_ : (p,) ndarray
        Standard deviations of those rates; 0 where a column was left out.
    flags_ : tuple of str
        Columns left out, or that tell failures from survivors without error.
    """

    def __init__(
        self,
        interval_low: float | None = None,
        interval_high: float | None = None,
        *,
        shape: float = WEAR_OUT_SHAPE,
        shape_log_sd: float = WEAR_OUT_LOG_SD,
        coefficient_sd: float = RATE_SD,
    ) -> None:
        self.interval_low = interval_low
        self.interval_high = interval_high
        self.shape = shape
        self.shape_log_sd = shape_log_sd
        self.coefficient_sd = coefficient_sd

    def fit(self, X: Any, y: Any, sample_weight: npt.ArrayLike | None = None) -> WeibullLife:
        """Learns the life and the ageing rates; ``sample_weight`` (n,): how many equal parts a row stands for.

        Raises
        ------
        ParameterError
            For parameters or rows that cannot be, or too few failures for a prior that is flat on life.
        ValueError
            For an ``X`` that scikit-learn refuses.
        """
        prior, rate_sd = self._prior(), self._rate_sd()
        least = 2 if self.interval_low is None else 1
        surroundings, ends = _together(self, X, y, reset=True, ensure_min_samples=least)
        count = _counts(sample_weight, len(surroundings))
        # LifeRows drops what carries no information; the surroundings of those rows go with it.
        told = (count > 0) & ~(np.isinf(ends[1]) & (np.maximum(ends[0], ends[2]) == ends[2]))
        lower, upper, entry = ends[:, told]
        rows, design = LifeRows(lower, upper, entry, count[told]), surroundings[told]
        rates = RatePrior(np.zeros(design.shape[1]), np.full(design.shape[1], rate_sd))
        # Refuses too few failures before the search for a mode that would have none.
        fit_life(rows, prior)
        found = fit_in_surroundings(rows, design, prior, rates)
        self.ageing_rates_ = found.gamma
        self.ageing_rates_sd_ = np.sqrt(np.diag(found.covariance))
        self.flags_ = found.flags
        speed = _speed(design, found.gamma)
        self.life_ = fit_life(
            LifeRows(rows.lower * speed, rows.upper * speed, rows.entry * speed, rows.count), prior
        )
        return self

    def predict(self, X: Any) -> FloatArray:
        """Age by which half of the parts in each row's surroundings have failed: posterior median, (n,)."""
        speed = self._speed_of(X)
        median: FloatArray = self.life_.quantile(0.5).age / speed
        return median

    def predict_failure(self, X: Any, age: npt.ArrayLike, horizon: npt.ArrayLike) -> FloatArray:
        """Chance that a part whole at ``age`` fails within ``horizon``, (n,); each one number or (n,).

        Averaged over the doubt about shape and life, the ageing rates at their most probable values.
        """
        speed = self._speed_of(X)
        return self.life_.failure_probability(
            not_negative("age", age) * speed, not_negative("horizon", horizon) * speed
        )

    def score(self, X: Any, y: Any, sample_weight: npt.ArrayLike | None = None) -> float:
        """Mean log-likelihood a row, averaged over the posterior: higher is better.

        An exact age adds the log of a density, so scores compare only in one unit of time, on the same rows.
        """
        check_is_fitted(self)
        surroundings, ends = _together(self, X, y, reset=False)
        count = _counts(sample_weight, len(surroundings))
        speed = _speed(surroundings, self.ageing_rates_)
        lower, upper, entry = ends * speed
        exact = lower == upper
        # A density a unit of the part's own faster clock is that much denser a unit of y.
        values = log_likelihoods(self.life_, lower, upper, entry) + np.where(exact, np.log(speed), 0.0)
        return float(np.average(values, weights=count))

    def __sklearn_tags__(self) -> Any:
        """Says that ages at failure are above 0."""
        tags = super().__sklearn_tags__()
        tags.target_tags.positive_only = True
        return tags

    def _prior(self) -> WeibullPrior:
        if self.interval_low is not None:
            return WeibullPrior.from_interval(
                self.interval_low, self.interval_high, shape=self.shape, shape_log_sd=self.shape_log_sd
            )
        if self.interval_high is not None:
            raise ParameterError(f"interval_high needs an interval_low, got only {self.interval_high}")
        if not 0 < self.shape < math.inf:
            raise ParameterError(f"shape must be positive and finite, got {self.shape}")
        return WeibullPrior(math.log(self.shape), self.shape_log_sd, 0.0, math.inf)

    def _rate_sd(self) -> float:
        if not self.coefficient_sd > 0:
            raise ParameterError(f"coefficient_sd must be above 0, got {self.coefficient_sd}")
        return self.coefficient_sd

    def _speed_of(self, X: Any) -> FloatArray:
        check_is_fitted(self)
        return _speed(validate_data(self, X, reset=False, dtype=np.float64), self.ageing_rates_)


def _speed(surroundings: FloatArray, rates: FloatArray) -> FloatArray:
    """How many times as fast each row ages; bounded, so that no surroundings make an age no number."""
    speed: FloatArray = np.exp(np.clip(surroundings @ rates, -LARGEST_EXPONENT, LARGEST_EXPONENT))
    return speed


def _together(
    estimator: WeibullLife, X: Any, y: Any, *, reset: bool, ensure_min_samples: int = 1
) -> tuple[FloatArray, FloatArray]:
    """``X`` (n, p) as scikit-learn checks it and ``lower, upper, entry`` (3, n) from any of the forms of ``y``."""
    check = {"reset": reset, "dtype": np.float64, "ensure_min_samples": ensure_min_samples}
    table = _interval_table(y)
    if table is None:
        surroundings, ages = validate_data(estimator, X, y, y_numeric=True, **check)
        return surroundings, np.stack([ages, ages, np.zeros(len(ages))]).astype(float)
    surroundings = validate_data(estimator, X, **check)
    check_consistent_length(surroundings, table)
    entry = table[:, 2] if table.shape[1] == 3 else np.zeros(len(table))
    return surroundings, np.stack([table[:, 0], table[:, 1], entry])


def _interval_table(y: Any) -> FloatArray | None:
    """Columns lower, upper and perhaps entry of ``y``, by name where it has names; None for one column of ages."""
    named = getattr(y, "columns", None)
    array = y if named is not None else np.asarray(y)
    names = list(named) if named is not None else list(array.dtype.names or ())
    if set(names) <= set(FIELDS) and {"lower", "upper"} <= set(names):
        return np.column_stack([np.asarray(y[name], dtype=float) for name in FIELDS if name in names])
    if len(names) > 1:
        raise ParameterError(f"y must have the columns lower, upper and perhaps entry, got {names}")
    if array.ndim != 2 or array.shape[1] < 2:
        return None
    if array.shape[1] > 3:
        raise ParameterError(f"y must have 2 or 3 columns (lower, upper, entry), got {array.shape[1]}")
    table: FloatArray = array.astype(float)
    return table


def _counts(sample_weight: npt.ArrayLike | None, number: int) -> FloatArray:
    """How many parts each of ``number`` rows stands for."""
    if sample_weight is None:
        return np.ones(number)
    count: FloatArray = np.asarray(column_or_1d(sample_weight), dtype=float)
    if len(count) != number:
        raise ValueError(f"sample_weight must hold {number} numbers, a row each, got {len(count)}")
    if not (np.isfinite(count).all() and (count >= 0).all() and count.any()):
        raise ValueError("sample_weight must be finite, 0 or more, and above zero somewhere")
    return count
