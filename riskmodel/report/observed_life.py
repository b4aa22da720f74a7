"""What the records alone say of a life: the product-limit or the self-consistent estimate, as steps."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.life import LifeRows

BoolArray = npt.NDArray[np.bool_]
# Steps are drawn only while at least this many lives are watched: with fewer, one failure is a landslide (judgement).
LEAST_WATCHED = 5.0
# With fewer failures than this the steps are called few (judgement).
FEW = 5.0
# Shares of lives of unknown age may add to less than one failure; less than this of one draws nothing (judgement).
LEAST_FAILED = 0.5
# The iterated estimate stops at this change of its log-likelihood; a share smaller than the second is rounding.
TOLERANCE, LEAST_SHARE = 1e-5, 1e-6
# With more different rows than this the iteration takes minutes, and middles are as good.
MOST_PAIRS = 300


@dataclass(frozen=True)
class ObservedLife:
    """Share that had failed after each step ``age`` (n,), of those whole at ``start``, and how it was reckoned.

    ``end``: last age drawn. ``failures``: lives that ended between ``start`` and ``end``.
    """

    age: FloatArray
    failed: FloatArray
    start: float
    end: float
    failures: float
    method: str

    @property
    def few(self) -> bool:
        """True when a failure more or less would change the picture."""
        return self.failures < FEW

    @property
    def middle(self) -> FloatArray:
        """Share failed at the middle of each step, where a point on probability paper stands."""
        middle: FloatArray = (self.failed + np.concatenate([[0.0], self.failed[:-1]])) / 2
        return middle


def observed_life(rows: LifeRows) -> ObservedLife | None:
    """The records' own estimate over the ages at which enough lives are watched; None without one there.

    Kaplan and Meier's for exact ages, with late entry where there is any; Turnbull's where failures are known to an
    interval; where both meet, which the latter cannot take, and where rows are very many, Kaplan and Meier's with each
    interval at its middle.
    """
    ended = np.isfinite(rows.upper)
    between = ended & (rows.lower < rows.upper)
    late = bool((rows.entry > 0).any())
    age = np.where(between, (rows.lower + np.where(ended, rows.upper, 0.0)) / 2, rows.lower)
    stretch = _well_watched(age, ended, rows)
    if stretch is None:
        return None
    if between.any() and not late and _distinct(rows) <= MOST_PAIRS:
        return _turnbull(rows, stretch[1])
    method = "Kaplan–Meier" + (", late entry" if late else "")
    method += ", intervals at their middle" if between.any() else ""
    return _kaplan_meier(age, ended, rows, stretch, method)


def _distinct(rows: LifeRows) -> int:
    return len(np.unique(np.column_stack([rows.lower, rows.upper]), axis=0))


def _well_watched(age: FloatArray, ended: BoolArray, rows: LifeRows) -> tuple[float, float] | None:
    """The run of ages, watched by enough lives throughout, with the most failures in it."""
    times = np.unique(np.concatenate([rows.entry, age]))
    watched = _count_upto(rows.entry, rows.count, times) - _count_upto(age, rows.count, times)
    # watched[i] holds just after times[i]; a failure at times[i + 1] is met by those.
    enough = np.concatenate([[False], watched[:-1] >= LEAST_WATCHED - 1e-9, [False]])
    begins = np.flatnonzero(enough[1:] & ~enough[:-1])
    ends = np.flatnonzero(~enough[1:] & enough[:-1])
    fallen = _count_upto(age[ended], rows.count[ended], times)
    gained = [fallen[last] - fallen[first] for first, last in zip(begins, ends, strict=True)]
    if not gained or max(gained) < LEAST_FAILED:
        return None
    best = int(np.argmax(gained))
    return float(times[begins[best]]), float(times[ends[best]])


def _count_upto(ages: FloatArray, counts: FloatArray, times: FloatArray) -> FloatArray:
    order = np.argsort(ages, kind="stable")
    total = np.concatenate([[0.0], np.cumsum(counts[order])])
    upto: FloatArray = total[np.searchsorted(ages[order], times, side="right")]
    return upto


def _kaplan_meier(
    age: FloatArray, ended: BoolArray, rows: LifeRows, stretch: tuple[float, float], method: str
) -> ObservedLife:
    from lifelines import KaplanMeierFitter

    start, end = stretch
    seen = (age > start) & (rows.entry < end)
    entry = np.maximum(rows.entry[seen], start)
    fails = ended[seen] & (age[seen] <= end)
    last = np.minimum(age[seen], end)
    with warnings.catch_warnings():
        # It warns of weights that are no whole numbers: they are shares of lives whose age is unknown.
        warnings.simplefilter("ignore")
        fitter = KaplanMeierFitter().fit(last, fails, entry=entry, weights=rows.count[seen])
    steps = np.unique(last[fails])
    failed = 1.0 - fitter.survival_function_at_times(steps).to_numpy()
    return ObservedLife(steps, failed, start, end, float(rows.count[seen] @ fails), method)


def _turnbull(rows: LifeRows, end: float) -> ObservedLife:
    # The fitter's own table moves exact failures to the next age in it: we take the shares and where they lie.
    from lifelines.fitters.npmle import npmle

    shares, places = npmle(rows.lower, rows.upper, tol=TOLERANCE, weights=rows.count)
    ends = np.array([tuple(place) for place in places], dtype=float)
    shown = (ends[:, 1] <= end) & (shares > LEAST_SHARE)
    ended = np.isfinite(rows.upper) & (rows.lower < end)
    return ObservedLife(
        ends[shown].mean(axis=1),
        np.cumsum(shares[shown]),
        0.0,
        end,
        float(rows.count[ended].sum()),
        "Turnbull, each share at the middle of its interval",
    )
