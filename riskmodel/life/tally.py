"""What a likelihood needs of the rows, and no more: signed counts over log ages, failures, intervals.

Whole lives enter the likelihood only through the sum of H over exits minus entries, and exact failures
through their number and the sum of their log ages; interval rows need their distinct (lower, upper) pairs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life.counts import Counts, count_rows
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
    return tally_counts(count_rows(rows))


def tally_counts(counts: Counts) -> Tally:
    """The sufficient statistics of rows already counted; age 0 adds no hazard and is left out."""
    old = counts.age > 0
    log_age, failed = np.log(counts.age[old]), counts.failures[old]
    dated = counts.age[counts.failures > 0]
    ends, starts = np.concatenate([dated, counts.upper]), np.concatenate([dated, counts.lower])
    with np.errstate(divide="ignore"):
        log_lower, log_upper = np.log(counts.lower), np.log(counts.upper)
    return Tally(
        log_age=log_age,
        weight=counts.exits[old] - counts.entries[old],
        failures=float(failed.sum()),
        log_age_sum=float(failed @ log_age),
        lower=log_lower,
        upper=log_upper,
        pairs=counts.pairs,
        first=float(ends.min()) if len(ends) else np.inf,
        last=float(starts.max()) if len(starts) else -np.inf,
    )
