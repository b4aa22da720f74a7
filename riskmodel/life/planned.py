"""What looking from now on is worth: planned looks, each ending in renewal when it finds the window open.

The part lets go at age T, its warning window opens W before (see looks). Looks are planned at ages u_1 < ... < u_K
between today's age a and the horizon's end; looks at a part, those on record and those planned, share one chance of
detection. A part that lets go in (u_x, u_(x+1)] has escaped the looks on record and the first x planned that fell in
its window. With S the survival given whole today, and for one window length w,

    tail(x, u) = integral_u^inf f_T(t) E_r[product of the misses of looks up to x in [t - w, t]] dt
               = first(x) S(u) + sum over looks i of step(x, i) S(max(i + w, u)),

as the misses that count change only at t = i + w. Then tail(0, a) is the chance of clean looks so far, and

    lets go unfound between looks x and x + 1:  tail(x, u_x) - tail(x, u_(x+1)),
    found at look x:                            tail(x - 1, u_x) - tail(x, u_x).

Nothing is integrated numerically but the spread of W and of detection. A renewed part is taken as new, not looked at
again before the horizon's end: a second order of what is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.looks import Looks, Windows, hazard_at, survivals_since
from riskmodel.life.weibull import failure_probability


@dataclass(frozen=True)
class PlannedLooks:
    """Plans of looks at parts of one class.

    ``ahead`` (k,) or (n, k): time from today to each look, in order, the first 0 or more. ``miss`` (p, k, d): chance
    that a look of each plan misses an open window, by level of detection, the levels those of the looks on record; 1
    where a plan leaves a look out.
    """

    ahead: FloatArray
    miss: FloatArray


@dataclass(frozen=True)
class WithPlannedLooks:
    """Chances (p, n, m) within the horizon, given whole today and clean looks so far, for each of p plans.

    ``lets_go``: the part lets go before a planned look finds it. ``found``: a look finds its window open and it is
    renewed (also the expected number of renewals on condition, the new part's own left aside). ``renewed_lets_go``:
    it is found and the new part lets go in what is left of the horizon. ``unplanned`` (n, m): lets go, no look planned.
    ``clean`` (n, m): how likely the looks on record were to find nothing, given whole today.
    """

    lets_go: FloatArray
    found: FloatArray
    renewed_lets_go: FloatArray
    unplanned: FloatArray
    clean: FloatArray


def chance_with_planned_looks(
    times: tuple[FloatArray, FloatArray],
    looks: Looks | None,
    planned: PlannedLooks,
    windows: Windows,
    life: tuple[FloatArray, FloatArray],
    speed: FloatArray | None = None,
) -> WithPlannedLooks:
    """What each plan of looks leaves of the chance of letting go.

    Parameters
    ----------
    times : age (n,), horizon (n,)
        Age today, at which the parts are whole, and time ahead, in one unit with the looks.
    looks : Looks, optional
        Clean looks on record, none after today.
    windows, life, speed
        As in ``chance_after_looks``.

    Raises
    ------
    ParameterError
        When planned looks are out of order or not before the horizon's end.
    """
    age, horizon = times
    ahead = _checked(planned, horizon)
    rate = np.ones((len(age), 1)) if speed is None else speed
    shape, log_scale = life[0], life[1] - np.log(rate)
    on_record = Looks(np.zeros((len(age), 0)), np.ones((1, 0, planned.miss.shape[-1])))
    first, step = _stages(looks or on_record, planned)
    looked = np.concatenate([(looks or on_record).age, age[:, None] + ahead], axis=1)
    points = np.column_stack([age, age[:, None] + ahead, age + horizon])
    passes = windows.length / np.median(rate, axis=1)[:, None]
    whole, reach = _survivals(points, looked, (passes, windows.weight), (shape, log_scale))
    # In stage x the looks on record and x planned have been made: it runs from point x to point x + 1.
    start, end = _tails(first, step, whole[:-1], reach[:-1]), _tails(first, step, whole[1:], reach[1:])
    found, clean = end[:-1] - start[1:], start[0, 0]
    unlooked = clean - _tails(first[:1, :1], step[:1, :1], whole[-1:], reach[-1:])[0, 0]
    left = (horizon[:, None] - ahead).T[:, None, :, None]
    again = found * failure_probability(np.zeros(1), left, shape, log_scale)
    return WithPlannedLooks(
        lets_go=np.maximum((start - end).sum(axis=0) / clean, 0.0),
        found=np.maximum(found.sum(axis=0) / clean, 0.0),
        renewed_lets_go=np.maximum(again.sum(axis=0) / clean, 0.0),
        unplanned=np.maximum(unlooked / clean, 0.0),
        clean=clean,
    )


def _checked(planned: PlannedLooks, horizon: FloatArray) -> FloatArray:
    """Times ahead (n, k)."""
    ahead: FloatArray = np.broadcast_to(planned.ahead, (len(horizon), planned.ahead.shape[-1]))
    if (np.diff(ahead, axis=1, prepend=0.0) < 0).any() or (ahead >= horizon[:, None]).any():
        raise ParameterError(
            f"planned looks must come in order, from today to before the horizon's end, got {planned.ahead.tolist()}"
        )
    return ahead


def _stages(looks: Looks, planned: PlannedLooks) -> tuple[FloatArray, FloatArray]:
    """``first`` (k + 1, p, n) and ``step`` (k + 1, p, n, looks) of the staircase in each stage, averaged over
    detection; n is 1 where no look is on record."""
    plans, number, levels = planned.miss.shape
    on_record = looks.age.shape[1]
    missed = np.where(np.isfinite(looks.age)[:, :, None], looks.miss, 1.0) if on_record else looks.miss[:1]
    made = np.empty((plans, len(missed), on_record + number, levels))
    made[:, :, :on_record] = missed
    made[:, :, on_record:] = planned.miss[:, None]
    first = np.empty((number + 1, *made.shape[:2]))
    step = np.zeros((number + 1, *made.shape[:3]))
    for stage in range(number + 1):
        count = on_record + stage
        levels_of = np.ones((*made.shape[:2], count + 1))
        levels_of[..., :count] = np.cumprod(made[:, :, :count][:, :, ::-1], axis=2)[:, :, ::-1].mean(axis=-1)
        first[stage] = levels_of[..., 0]
        step[stage, ..., :count] = np.diff(levels_of, axis=2)
    return first, step


def _survivals(
    points: FloatArray,
    looked: FloatArray,
    windows: tuple[FloatArray, FloatArray],
    life: tuple[FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray]:
    """(points, n, m) survival since today at each point; and (points, n, looks, m) that at the point or at the end of
    a look's reach, whichever is later, averaged over windows (lengths (n, q), weights (q,))."""
    passes, weight = windows
    shape, log_scale = life
    today = hazard_at(points[:, 0], shape, log_scale)
    whole = np.moveaxis(survivals_since(points, today, shape, log_scale), 1, 0)
    ends = np.maximum(looked[:, :, None] + passes[:, None, :], points[:, :1, None])
    together = ends.reshape(len(ends), ends.shape[1] * ends.shape[2])
    lasting = survivals_since(together, today, shape, log_scale).reshape(*ends.shape, len(shape))
    reach = np.stack([weight @ np.minimum(lasting, there[:, None, None, :]) for there in whole])
    return whole, reach


def _tails(first: FloatArray, step: FloatArray, whole: FloatArray, reach: FloatArray) -> FloatArray:
    """(stages, p, n, m) chance of being whole and unfound at a point, by the looks made until then."""
    tails: FloatArray = first[..., None] * whole[:, None] + np.einsum("spnl,snlm->spnm", step, reach)
    return tails
