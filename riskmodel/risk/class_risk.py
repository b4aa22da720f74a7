"""One class's parts over the horizon: their chance of letting go, and what looking or renewing changes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.life import Life
from riskmodel.life.looks import open_beyond
from riskmodel.life.seed import warning_years
from riskmodel.risk.chances import (
    Parameters,
    chance_of_any,
    chance_of_one,
    match_mean,
    middle_parameters,
    node_interval,
    quadrature_mean,
)
from riskmodel.risk.looking import by_looking, look_plans, mean_detection
from riskmodel.risk.parts import Parts, as_new, pick
from riskmodel.trade import ItemClass

TINY = np.finfo(float).tiny
# Where next to nothing shows today a plan is still told against something.
LEAST_SEEN = 1e-9


@dataclass(frozen=True)
class ClassRisk:
    """Parts of one class, (n,) or (n, DRAWS).

    ``mean, low, high``: chance of letting go over the horizon with its 90 % interval; ``drawn``: draw by draw.
    ``needs_work``: chance of needing work by its end. ``seen``: share of those failures whose warning stands open
    today, which a perfect look would find. ``kept``: share of the chance that remains after renewal today. ``finds``
    (n, plans): what each plan of looks averts (looking.look_plans), of what that perfect look would: more than 1
    where later looks find what does not show today.
    """

    mean: FloatArray
    low: FloatArray
    high: FloatArray
    needs_work: FloatArray
    drawn: FloatArray
    seen: FloatArray
    kept: FloatArray
    finds: FloatArray


def class_risk(
    item_class: ItemClass,
    life: Life,
    gathered: tuple[Parts, Parts, FloatArray],
    parameters: Parameters,
    standing: pd.DataFrame,
    times: tuple[float, FloatArray],
) -> ClassRisk:
    """Risk of parts of one class over the years, and with the share of suspect parts that need work, in ``times``.

    ``gathered``: the parts with ageing as believed, draw by draw, and the log standard deviation of that ageing.
    """
    years, suspect_share = times
    horizon = np.full(len(standing), years)
    middle, by_draw, pace_sd = gathered
    plain, mean = plain_and_mean(gathered, life, parameters, horizon)
    drawn = match_mean(plain, mean)
    low, high = np.quantile(drawn, [0.05, 0.95], axis=1)
    sure = np.flatnonzero(
        (middle.cell < 0) & ~middle.looked & (pace_sd[middle.kind] == 0) & (parameters.by_hours is None)
    )
    low[sure], high[sure] = node_interval(pick(middle, sure), life, horizon[sure])
    fresh = chance_of_any(chance_of_one(as_new(by_draw), parameters, horizon), by_draw.quantity)
    seen, finds, needs_work = _warnings(item_class, by_draw, parameters, years)
    risk = ClassRisk(
        mean=mean,
        low=low,
        high=high,
        needs_work=np.maximum(chance_of_any(needs_work, by_draw.quantity).mean(axis=1), mean),
        drawn=drawn,
        seen=seen,
        kept=fresh / np.maximum(plain, TINY),
        finds=finds,
    )
    return _with_defects(risk, by_draw, parameters, standing, horizon, suspect_share)


def plain_and_mean(
    gathered: tuple[Parts, Parts, FloatArray], life: Life, parameters: Parameters, horizon: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Chance of letting go by ``horizon`` (n,) draw by draw (n, DRAWS), and its mean (n,) over the whole posterior."""
    by_draw = gathered[1]
    plain = chance_of_any(chance_of_one(by_draw, parameters, horizon), by_draw.quantity)
    return plain, _mean(gathered, life, parameters, plain, horizon)


def _mean(
    gathered: tuple[Parts, Parts, FloatArray],
    life: Life,
    parameters: Parameters,
    plain: FloatArray,
    horizon: FloatArray,
) -> FloatArray:
    """Mean chance (n,): the quadrature's, times what looks and running hours change, which the draws tell.

    The draws' own error cancels in that ratio: without looks and hours it is 1 and the mean is the quadrature's.
    """
    middle, by_draw, pace_sd = gathered
    mean = quadrature_mean(middle, life, pace_sd, horizon)
    changed = np.flatnonzero(middle.looked | (parameters.by_hours is not None))
    if len(changed):
        bare = replace(pick(by_draw, changed), looks=None)
        calendar = chance_of_one(bare, replace(parameters, by_hours=None), horizon[changed])
        before = chance_of_any(calendar, bare.quantity).mean(axis=1)
        mean[changed] *= plain[changed].mean(axis=1) / np.maximum(before, TINY)
    least: FloatArray = np.minimum(mean, 1.0)
    return least


def _warnings(
    item_class: ItemClass, parts: Parts, parameters: Parameters, years: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """``seen`` (n, 1), ``finds`` (n, plans), and the chance of needing work by the horizon's end (n, 1), for one such
    part; at the middle of the draws, for the shares hardly depend on the life."""
    middle, horizon = middle_parameters(parameters), np.full(len(parts.age), years)
    calm = replace(parts, speed=np.median(parts.speed, axis=1, keepdims=True))
    window = warning_years(item_class)
    plans = look_plans(item_class, years)
    plain = replace(calm, looks=None)
    if item_class.fails_unseen:
        # With the window's middle; each plan is one test, worth its chance of telling.
        whole, open_now, needs_work = (
            chance_of_one(plain, middle, time)
            for time in (horizon, np.minimum(window, horizon), horizon + window)
        )
        finds = np.tile([mean_detection(plan.task) for plan in plans], (len(horizon), 1))
        return np.minimum(open_now / np.maximum(whole, TINY), 1.0), finds, needs_work
    looking = by_looking(plans, calm, middle, horizon)
    needs_work = np.empty((len(horizon), 1))
    known, unknown = np.flatnonzero(parts.cell < 0), np.flatnonzero(parts.cell >= 0)
    some = pick(calm, known)
    times = some.age, horizon[known] * some.reach
    _, quiet = open_beyond(*times, some.windows, middle.life, some.speed[some.kind])
    needs_work[known] = np.clip(1.0 - quiet / looking.clean[known, None], 0.0, 1.0)
    # Where the age is unknown with the window's middle.
    needs_work[unknown] = chance_of_one(pick(plain, unknown), middle, (horizon + window)[unknown])
    seen = np.maximum(looking.seen, LEAST_SEEN)[:, None]
    return seen, looking.averted / seen, needs_work


def _with_defects(
    risk: ClassRisk,
    parts: Parts,
    parameters: Parameters,
    standing: pd.DataFrame,
    horizon: FloatArray,
    share: FloatArray,
) -> ClassRisk:
    """Parts found to need work let go within what is left of their warning window; parts found let go have done so.

    Of parts found suspect a ``share`` is taken to need work.
    """
    gone = standing["let_go"].to_numpy()
    certain, suspect = standing["needs_work"].to_numpy(), (standing["found"] == "suspect").to_numpy() & ~gone
    found = gone | certain | suspect
    if not found.any():
        return risk
    drawn = risk.drawn.copy()
    some = np.flatnonzero(certain | suspect)
    if len(some):
        bad = replace(pick(parts, some), looks=None, quantity=np.ones(len(some)))
        ago = standing["found_ago"].to_numpy(dtype=float)[some]
        soon = np.maximum(_within_window(bad, parameters, ago, horizon[some]), drawn[some])
        weight = np.where(certain[some, None], 1.0, share)
        drawn[some] += weight * (soon - drawn[some])
    drawn[gone] = 1.0
    bounds = np.quantile(drawn, [0.05, 0.95], axis=1)
    needs = np.where(certain | gone, 1.0, np.where(suspect, share.mean(), risk.needs_work))
    return replace(
        risk,
        mean=np.where(found, drawn.mean(axis=1), risk.mean),
        low=np.where(found, bounds[0], risk.low),
        high=np.where(found, bounds[1], risk.high),
        needs_work=np.maximum(needs, risk.needs_work),
        drawn=drawn,
        seen=np.where((gone | certain)[:, None], 1.0, risk.seen),
        kept=risk.kept * risk.drawn / np.maximum(drawn, TINY),
    )


def _within_window(parts: Parts, parameters: Parameters, ago: FloatArray, horizon: FloatArray) -> FloatArray:
    """(n, m) chance of letting go by the horizon for parts found needing work ``ago`` (n,) years back, whole today.

    P(T <= a + h | window open when found, whole at a): each length of the window that is not yet over ends the life
    before it does; averaged over the lengths, each by how likely its end is. Certain once every window has passed.
    """
    above, below = np.zeros((len(ago), len(parameters.shape))), np.zeros((len(ago), len(parameters.shape)))
    by_horizon = chance_of_one(parts, parameters, horizon)
    # Every other length of the window: the share of it that is over does not ask for more.
    for length, weight in zip(parts.windows.length[::2], parts.windows.weight[::2], strict=True):
        left = np.maximum(length - ago, 0.0)
        by_end = chance_of_one(parts, parameters, left)
        below += weight * by_end
        above += weight * np.where((left < horizon)[:, None], by_end, by_horizon)
    chance: FloatArray = np.where(below > TINY, above / np.maximum(below, TINY), 1.0)
    return chance
