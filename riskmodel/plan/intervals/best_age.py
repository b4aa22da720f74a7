"""The best renewal age of a life that is known with doubt, and how much it matters to be early or late.

Costs over the years are averaged over the posterior as the sum of w_g C_g(T), each node's own rate of C (replacement):
one class has one life, whichever it is, and pays that life's rate. A ratio of averages would be another question.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.life import Life
from riskmodel.plan.intervals.wearing import Wear, wear_of_life

# Ages on an even grid of log age; at 600 the best cost is right to a few in 100,000.
AGES = 600
# Points and weights of a Gauss-Legendre rule on each of its steps, for the years lived.
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(3)
# Share of the shortest-lived node's scale where the grid begins, and the hazard of its longest-lived node at its end.
FIRST_SHARE, LAST_HAZARD = 1e-3, 30.0
# A grid never spans more than this: a few nodes of doubtful shape reach past every age (years of the scale's unit).
MOST_SPAN = 1e8
# An age that saves less than this share of what renewing only failures costs is no age to go by (judgement).
LEAST_SAVED = 0.01


@dataclass(frozen=True)
class BestAge:
    """The best age and the curve behind it, in the unit of the wear, money in that of the costs.

    ``age``: infinite where no finite age pays; ``cost_rate``: at it, per unit of time. ``low``, ``high``: central 90 %
    of the nodes' own best ages. ``ages`` (k,) and ``rates`` (k,): the averaged curve; ``rate_at_failure``: of renewing
    only what fails.
    """

    age: float
    cost_rate: float
    low: float
    high: float
    ages: FloatArray
    rates: FloatArray
    rate_at_failure: float

    def rate(self, age: float) -> float:
        """Cost per unit of time of renewing at ``age`` (infinite: only failures). Raises ParameterError below 0."""
        if not age > 0:
            raise ParameterError(f"age must be above 0, got {age:g}")
        if age >= self.ages[-1]:
            return self.rate_at_failure
        # Rates times age are close to straight lines where renewals cost most: young.
        paid = np.interp(np.log(age), np.log(self.ages), np.log(self.rates))
        return float(np.exp(paid)) if age >= self.ages[0] else float(self.rates[0] * self.ages[0] / age)

    def penalty(self, age: float) -> float:
        """What renewing at ``age`` costs over the best, as a share of the best: 0 at it, 0.1 for a tenth more."""
        return max(self.rate(age) / self.cost_rate - 1.0, 0.0) if self.cost_rate > 0 else 0.0

    def within(self, share: float) -> tuple[float, float]:
        """Ages between which the cost stays within ``share`` of the best; the upper infinite where it may be never.

        Raises ParameterError for a share not above 0.
        """
        if not share > 0:
            raise ParameterError(f"share must be above 0, got {share:g}")
        limit = (1.0 + share) * self.cost_rate
        best = int(np.argmin(self.rates)) if np.isfinite(self.age) else len(self.rates) - 1
        over = self.rates > limit
        before, after = np.flatnonzero(over[:best]), np.flatnonzero(over[best:])
        low = _crossing(self, int(before[-1]), limit) if len(before) else float(self.ages[0])
        return low, (_crossing(self, best + int(after[0]) - 1, limit) if len(after) else np.inf)


def best_age(wear: Wear, planned_cost: float, failure_cost: float) -> BestAge:
    """The best age of one wear, its cost averaged over the nodes.

    Raises
    ------
    ParameterError
        For costs below 0, or where both are 0.
    """
    planned, failure = (
        float(not_negative(name, cost))
        for name, cost in (("planned_cost", planned_cost), ("failure_cost", failure_cost))
    )
    if failure == 0:
        raise ParameterError(f"failure_cost must be above 0, got {failure:g}")
    ages = _grid(wear)
    whole, lived = _lived(wear, ages)
    with np.errstate(over="ignore"):
        rates = (planned + (failure - planned) * (1.0 - whole)) / lived
    never = failure / lived[:, -1]
    averaged, at_failure = wear.weight @ rates, float(wear.weight @ never)
    age, cost = _least(ages, averaged, at_failure)
    own = _own_best(ages, rates, never)
    return BestAge(age, cost, *_band(own, wear.weight), ages, averaged, at_failure)


def best_age_of_life(life: Life, planned_cost: float, failure_cost: float, *, pace: float = 1.0) -> BestAge:
    """The best age of a class's life, where parts age ``pace`` times as fast as in its reference surroundings.

    Raises ParameterError as ``best_age`` does, and for a pace not above 0.
    """
    return best_age(wear_of_life(life, pace), planned_cost, failure_cost)


def _grid(wear: Wear) -> FloatArray:
    """Ages (AGES,) from next to new to when even the longest lives of any weight are over."""
    some = wear.weight >= 1e-6 * wear.weight.max()
    ends = wear.log_scale[some] + np.log(LAST_HAZARD) / wear.shape[some]
    first, last = wear.log_scale[some].min() + np.log(FIRST_SHARE), ends.max()
    if wear.by_hours is not None:
        first = min(first, float(wear.by_hours[1][some].min() + np.log(FIRST_SHARE)))
    ages: FloatArray = np.exp(np.linspace(first, min(last, first + np.log(MOST_SPAN)), AGES))
    return ages


def _lived(wear: Wear, ages: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(m, k) survival at each age and the mean time lived up to it, node by node."""
    log_age = np.log(ages)
    half = 0.5 * np.diff(log_age)
    inner = np.exp((log_age[:-1] + half)[:, None] + half[:, None] * POINTS)
    weight = inner * half[:, None] * WEIGHTS
    survived = wear.survival(inner.ravel()).reshape(-1, *inner.shape)
    whole = wear.survival(ages)
    # Until the first age next to nothing fails: the mean of both ends.
    start = 0.5 * ages[0] * (1.0 + whole[:, :1])
    steps = np.einsum("mkq,kq->mk", survived, weight)
    return whole, np.concatenate([start, start + np.cumsum(steps, axis=1)], axis=1)


def _least(ages: FloatArray, rates: FloatArray, at_failure: float) -> tuple[float, float]:
    """The least of the curve, between its ages by the parabola through the lowest three."""
    place = int(np.argmin(rates))
    if rates[place] > (1.0 - LEAST_SAVED) * at_failure:
        return np.inf, at_failure
    if not 0 < place < len(rates) - 1:
        return float(ages[place]), float(rates[place])
    before, here, after = rates[place - 1 : place + 2]
    bend = before - 2.0 * here + after
    step = 0.5 * (before - after) / bend if bend > 0 else 0.0
    width = np.log(ages[1] / ages[0])
    return float(ages[place] * np.exp(step * width)), float(here - 0.25 * (before - after) * step)


def _own_best(ages: FloatArray, rates: FloatArray, never: FloatArray) -> FloatArray:
    """(m,) each node's best age."""
    place = np.argmin(rates, axis=1)
    least = rates[np.arange(len(rates)), place]
    own: FloatArray = np.where(least > (1.0 - LEAST_SAVED) * never, np.inf, ages[place])
    return own


def _band(values: FloatArray, weight: FloatArray) -> tuple[float, float]:
    """Central 90 % of weighted values, some of which may be infinite."""
    order = np.argsort(values, kind="stable")
    upto = np.cumsum(weight[order])
    low, high = (
        float(values[order][min(int(np.searchsorted(upto, share * upto[-1])), len(values) - 1)])
        for share in (0.05, 0.95)
    )
    return low, high


def _crossing(best: BestAge, place: int, limit: float) -> float:
    """The age between two of the grid where the curve passes ``limit``."""
    (one, two), (from_, to) = best.rates[place : place + 2], np.log(best.ages[place : place + 2])
    return float(np.exp(from_ + (to - from_) * (limit - one) / (two - one)))
