"""What clean looks are worth: a part whose warning did not show is less likely to be about to let go.

Before letting go at age T a part visibly needs work for a window W (Christer & Waller 1984, delay time, written
so that the life of T stays one Weibull). A look inside the window misses it with a chance that the looks of one part
share. With clean looks i_1 < ... < i_n and n(t, w) looks in [t - w, a],

    p(h | a, looks) = integral_a^(a+h) f_T(t) g(t) dt / integral_a^inf f_T(t) g(t) dt,
    g(t) = E_W,r[product of the misses].

For one window length w the misses that count change only at t = i_k + w: g is a staircase, and both integrals are
sums of survivals at its steps. Nothing is integrated numerically but the spread of W and of detection.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.hypercube import WIDTH_90
from riskmodel.life.weibull import cumulative_hazard

# Window lengths stand on evenly spaced normal deviates: the trapezium rule, good where all is smooth but for kinks.
WINDOW_NODES = 25
FURTHEST = 3.5
# Detection chances are replaced by this many equally likely values; they cost next to nothing.
DETECTION_NODES = 41
# Nobody finds everything every time (methods: detection is capped).
BEST_DETECTION = 0.95
# Of a part's looks the latest are kept: older ones would lower the chance a little more, at much more work.
MOST_LOOKS = 4


@dataclass(frozen=True)
class Looks:
    """Clean looks at parts of one class.

    ``age`` (n, k): ages at the looks, oldest first, ``-inf`` where a part has fewer than k; ``miss`` (n, k, d): chance
    that the look misses an open window, for each of d equally likely levels of detection, shared by a part's looks.
    """

    age: FloatArray
    miss: FloatArray


@dataclass(frozen=True)
class Windows:
    """Window lengths (q,), in the unit of age, and how likely each is (q,), adding to 1."""

    length: FloatArray
    weight: FloatArray


def window_nodes(low: float, high: float, count: int = WINDOW_NODES) -> Windows:
    """``count`` window lengths of a log-normal whose central 90 % runs from ``low`` to ``high``, in their unit."""
    if not 0 < low <= high:
        raise ParameterError(f"a warning window must satisfy 0 < low <= high, got {low} to {high}")
    middle, sd = 0.5 * np.log(low * high), np.log(high / low) / WIDTH_90
    deviates = np.linspace(-FURTHEST, FURTHEST, count)
    weight = np.exp(-0.5 * deviates**2)
    return Windows(np.exp(middle + sd * deviates), weight / weight.sum())


def mean_window(low: float, high: float) -> float:
    """Mean of that log-normal: what an interval row of a part found needing work is as wide as."""
    sd = np.log(high / low) / WIDTH_90
    return float(np.exp(0.5 * np.log(low * high) + 0.5 * sd**2))


@lru_cache(maxsize=512)
def detection_nodes(low: float, high: float) -> FloatArray:
    """Equally likely detection chances of a Beta whose mean and spread fit a central 90 % from ``low`` to ``high``.

    The Beta is kept to one peak (both parameters at least 1) and its values at or below BEST_DETECTION.
    """
    if not 0 <= low <= high <= 1:
        raise ParameterError(f"a detection range must satisfy 0 <= low <= high <= 1, got {low} to {high}")
    mean, sd = 0.5 * (low + high), (high - low) / WIDTH_90
    # A range too narrow to be squared is no range.
    if sd**2 == 0 or mean in (0.0, 1.0):
        return np.full(DETECTION_NODES, min(mean, BEST_DETECTION))
    worth = max(mean * (1 - mean) / sd**2 - 1, 1 / mean, 1 / (1 - mean))
    grid = (np.arange(2000) + 0.5) / 2000
    log_density = (mean * worth - 1) * np.log(grid) + ((1 - mean) * worth - 1) * np.log1p(-grid)
    share = np.cumsum(np.exp(log_density - log_density.max()))
    places = (np.arange(DETECTION_NODES) + 0.5) / DETECTION_NODES
    values: FloatArray = np.minimum(np.interp(places * share[-1], share, grid), BEST_DETECTION)
    return values


def chance_after_looks(
    age: FloatArray,
    horizon: FloatArray,
    looks: Looks,
    windows: Windows,
    life: tuple[FloatArray, FloatArray],
    speed: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Chance of letting go within the horizon given clean looks, and how likely the looks were to be clean.

    Parameters
    ----------
    age, horizon : (n,)
        Age today, at which the part is whole, and time ahead.
    windows : Windows
        Lengths of the warning window in reference surroundings.
    life : shape (m,), log scale (m,)
        Nodes or draws of the life.
    speed : (n, 1) or (n, m), optional
        How fast the part ages in its surroundings; its warning window passes as fast (at the middle of its rates).

    Returns
    -------
    p, clean : (n, m)
        ``clean`` is the chance of no finding in the looks, given whole today; it weighs unknown ages.
    """
    rate = np.ones((len(age), 1)) if speed is None else speed
    shape, log_scale = life[0], life[1] - np.log(rate)
    levels = _levels(looks)
    steps = np.diff(levels, axis=1)
    above = np.zeros((len(age), len(shape)))
    below = np.zeros_like(above)
    until = age + horizon
    today = hazard_at(age, shape, log_scale)
    at_end = survival_since(until, today, shape, log_scale)
    pace = np.median(rate, axis=1)
    for k in np.flatnonzero((steps > 0).any(axis=0)):
        look = np.where(np.isfinite(looks.age[:, k]), looks.age[:, k], 0.0)
        drop_out = np.maximum(look[:, None] + windows.length / pace[:, None], age[:, None])
        lasting = survivals_since(drop_out, today, shape, log_scale)
        early = np.where((drop_out > until[:, None])[:, :, None], at_end[:, None, :], lasting)
        below += steps[:, k, None] * np.tensordot(windows.weight, lasting, axes=(0, 1))
        above += steps[:, k, None] * np.tensordot(windows.weight, early, axes=(0, 1))
    first = levels[:, :1]
    clean = first + below
    chance = first - at_end + above
    return np.clip(chance / clean, 0.0, 1.0), clean


def open_beyond(
    age: FloatArray,
    horizon: FloatArray,
    windows: Windows,
    life: tuple[FloatArray, FloatArray],
    speed: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """(n, m) chances, given whole today: of letting go within the horizon though no warning shows today, and of
    needing no work yet at its end."""
    shape, log_scale = life[0], life[1] - np.log(speed)
    today = hazard_at(age, shape, log_scale)
    until, pace = age + horizon, np.median(speed, axis=1)
    whole = survival_since(until, today, shape, log_scale)
    passes = windows.length / pace[:, None]
    shut = survivals_since(np.minimum(age[:, None] + passes, until[:, None]), today, shape, log_scale)
    quiet = survivals_since(until[:, None] + passes, today, shape, log_scale)
    return (
        np.tensordot(windows.weight, shut, axes=(0, 1)) - whole,
        np.tensordot(windows.weight, quiet, axes=(0, 1)),
    )


def with_look_today(looks: Looks, age: FloatArray, miss: FloatArray) -> Looks:
    """The same looks and one more today, at ``age`` (n,), that misses with ``miss`` (d,)."""
    today = np.broadcast_to(miss, (len(age), 1, len(miss)))
    return Looks(
        np.concatenate([looks.age, age[:, None]], axis=1), np.concatenate([looks.miss, today], axis=1)
    )


def _levels(looks: Looks) -> FloatArray:
    """(n, k + 1) chance that every look from place 0, 1, ... on misses, averaged over detection; 1 past the last."""
    counted = np.where(np.isfinite(looks.age)[:, :, None], looks.miss, 1.0)
    missed = np.cumprod(counted[:, ::-1], axis=1)[:, ::-1].mean(axis=-1)
    return np.column_stack([missed, np.ones(len(missed))])


def hazard_at(age: FloatArray, shape: FloatArray, log_scale: FloatArray) -> FloatArray:
    """(n, m) cumulative hazard at ages (n,); log scales (n, m) or (n, 1)."""
    with np.errstate(divide="ignore"):
        return cumulative_hazard(np.log(age)[:, None], shape, log_scale)


def survival_since(
    end: FloatArray, today: FloatArray, shape: FloatArray, log_scale: FloatArray
) -> FloatArray:
    """(n, m) chance of being whole at ``end`` (n,), given whole at the age of cumulative hazard ``today``."""
    return survivals_since(end[:, None], today, shape, log_scale)[:, 0]


def survivals_since(
    ends: FloatArray, today: FloatArray, shape: FloatArray, log_scale: FloatArray
) -> FloatArray:
    """(n, q, m) the same at several ends (n, q) each."""
    with np.errstate(divide="ignore"):
        hazard = cumulative_hazard(np.log(ends)[:, :, None], shape, log_scale[:, None, :])
    whole: FloatArray = np.exp(np.minimum(today[:, None, :] - hazard, 0.0))
    return whole
