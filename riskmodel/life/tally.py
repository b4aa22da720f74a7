"""What a likelihood needs of the rows, and no more: signed counts over log ages, failures, intervals.

Whole lives enter the likelihood only through the sum of H over exits minus entries, and exact failures
through their number and the sum of their log ages; interval rows need their distinct (lower, upper) pairs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life.rows import LifeRows


@dataclass(frozen=True)
class Tally:
    """Sufficient statistics of life rows of one class and clock.

    ``log_age`` and ``weight``: distinct log ages with exits counted plus and entries counted minus.
    ``failures`` and ``log_age_sum``: number of exact failures and the sum of their log ages.
    ``lower``, ``upper``, ``pairs``: distinct log ages of interval rows (lower may be -inf) and their counts.
    ``first``, ``last``: the least and greatest age bound of any failure, for the test of a proper posterior.
    """

    log_age: FloatArray
    weight: FloatArray
    failures: float
    log_age_sum: float
    lower: FloatArray
    upper: FloatArray
    pairs: FloatArray
    first: float
    last: float

    @property
    def log_age_limit(self) -> float:
        """Greatest finite log age in the rows; 0 when there are none."""
        ages = np.concatenate([self.log_age, self.upper])
        return float(ages.max()) if len(ages) else 0.0


def tally_rows(rows: LifeRows) -> Tally:
    """The sufficient statistics of ``rows``; equal ages are collapsed, nothing is rounded."""
    exact = rows.lower == rows.upper
    between = np.isfinite(rows.upper) & ~exact
    log_age, weight = _signed(rows)
    lower, upper, pairs = _distinct_pairs(rows, between)
    with np.errstate(divide="ignore"):
        log_lower, log_upper = np.log(lower), np.log(upper)
    ends = rows.upper[np.isfinite(rows.upper)]
    starts = rows.lower[np.isfinite(rows.upper)]
    return Tally(
        log_age=log_age,
        weight=weight,
        failures=float(rows.count[exact].sum()),
        log_age_sum=float((rows.count[exact] * np.log(rows.lower[exact])).sum()),
        lower=log_lower,
        upper=log_upper,
        pairs=pairs,
        first=float(ends.min()) if len(ends) else np.inf,
        last=float(starts.max()) if len(starts) else -np.inf,
    )


def _signed(rows: LifeRows) -> tuple[FloatArray, FloatArray]:
    """Exits count plus, entries minus; age 0 adds no hazard and is left out."""
    ages = np.concatenate([rows.lower, rows.entry])
    counts = np.concatenate([rows.count, -rows.count])
    old = ages > 0
    distinct, place = np.unique(ages[old], return_inverse=True)
    return np.log(distinct), np.bincount(place, weights=counts[old], minlength=len(distinct)).astype(float)


def _distinct_pairs(
    rows: LifeRows, between: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    pairs = rows.lower[between] + 1j * rows.upper[between]
    distinct, place = np.unique(pairs, return_inverse=True)
    counts = np.bincount(place, weights=rows.count[between], minlength=len(distinct)).astype(float)
    return distinct.real.copy(), distinct.imag.copy(), counts
