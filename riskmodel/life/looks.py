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

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.weibull import LARGEST_EXPONENT, added_hazard

# Window lengths stand on evenly spaced normal deviates: the trapezium rule, good where all is smooth but for kinks.
WINDOW_NODES = 25
FURTHEST = 3.5
# Detection chances are replaced by this many equally likely values; they cost next to nothing.
DETECTION_NODES = 41
# Nobody finds everything every time (methods: detection is capped).
BEST_DETECTION = 0.95
WIDTH_90 = 2 * 1.6448536269514722
# Looks older than this many windows' longest length can no longer matter; of the rest the latest are kept.
MOST_LOOKS = 12


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


def window_nodes(low: float, high: float) -> Windows:
    """Window lengths of a log-normal whose central 90 % runs from ``low`` to ``high``, in their unit."""
    if not 0 < low <= high:
        raise ParameterError(f"a warning window must satisfy 0 < low <= high, got {low} to {high}")
    middle, sd = 0.5 * np.log(low * high), np.log(high / low) / WIDTH_90
    deviates = np.linspace(-FURTHEST, FURTHEST, WINDOW_NODES)
    weight = np.exp(-0.5 * deviates**2)
    return Windows(np.exp(middle + sd * deviates), weight / weight.sum())


def mean_window(low: float, high: float) -> float:
    """Mean of that log-normal: what an interval row of a part found needing work is as wide as."""
    sd = np.log(high / low) / WIDTH_90
    return float(np.exp(0.5 * np.log(low * high) + 0.5 * sd**2))


def detection_nodes(low: float, high: float) -> FloatArray:
    """Equally likely detection chances of a Beta whose mean and spread fit a central 90 % from ``low`` to ``high``.

    The Beta is kept to one peak (both parameters at least 1) and its values at or below BEST_DETECTION.
    """
    if not 0 <= low <= high <= 1:
        raise ParameterError(f"a detection range must satisfy 0 <= low <= high <= 1, got {low} to {high}")
    mean, sd = 0.5 * (low + high), (high - low) / WIDTH_90
    if sd == 0 or mean in (0.0, 1.0):
        return np.full(DETECTION_NODES, min(mean, BEST_DETECTION))
    worth = max(mean * (1 - mean) / sd**2 - 1, 1 / mean, 1 / (1 - mean))
    grid = (np.arange(2000) + 0.5) / 2000
    log_density = (mean * worth - 1) * np.log(grid) + ((1 - mean) * worth - 1) * np.log1p(-grid)
    share = np.cumsum(np.exp(log_density - log_density.max()))
    places = (np.arange(DETECTION_NODES) + 0.5) / DETECTION_NODES
    values: FloatArray = np.minimum(np.interp(places * share[-1], share, grid), BEST_DETECTION)
    return values


def chance_after_looks(
    age: FloatArray, horizon: FloatArray, looks: Looks, windows: Windows, life: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray]:
    """Chance of letting go within the horizon given clean looks, and how likely the looks were to be clean.

    Parameters
    ----------
    age, horizon : (n,) or (n, m)
        Age today, at which the part is whole, and years ahead.
    windows : Windows
        Lengths of the warning window.
    life : shape (m,), log scale (m,)
        Nodes or draws of the life.

    Returns
    -------
    p, clean : (n, m)
        ``clean`` is the chance of no finding in the looks, given whole today; it weighs unknown ages.
    """
    age, horizon = (np.asarray(values, dtype=float).reshape(len(looks.age), -1) for values in (age, horizon))
    steps = _staircase(looks)
    ends = looks.age[:, :, None] + windows.length
    above = np.zeros((len(age), len(life[0])))
    below = np.zeros_like(above)
    for k in range(looks.age.shape[1]):
        rise = steps[:, k]
        if not (rise > 0).any():
            continue
        for end, weight in zip(np.moveaxis(ends[:, k], -1, 0), windows.weight, strict=True):
            ahead = np.maximum(end[:, None] - age, 0.0)
            below += weight * rise[:, None] * _conditional_survival(age, ahead, life)
            above += weight * rise[:, None] * _conditional_survival(age, np.minimum(ahead, horizon), life)
    first = _missed_from(looks, 0)[:, None]
    clean = first + below
    chance = first - _conditional_survival(age, horizon, life) + above
    return np.clip(chance / clean, 0.0, 1.0), clean


def with_look_today(looks: Looks, age: FloatArray, miss: FloatArray) -> Looks:
    """The same looks and one more today, at ``age`` (n,), that misses with ``miss`` (d,)."""
    today = np.broadcast_to(miss, (len(age), 1, len(miss)))
    return Looks(
        np.concatenate([looks.age, age[:, None]], axis=1), np.concatenate([looks.miss, today], axis=1)
    )


def _missed_from(looks: Looks, first: int) -> FloatArray:
    """(n,) chance that every look from place ``first`` on misses, averaged over detection."""
    counted = np.where(np.isfinite(looks.age[:, first:, None]), looks.miss[:, first:], 1.0)
    missed: FloatArray = counted.prod(axis=1).mean(axis=-1)
    return missed


def _staircase(looks: Looks) -> FloatArray:
    """(n, k) rise of g where look k drops out: 0 for the empty places."""
    levels = np.stack([_missed_from(looks, k) for k in range(looks.age.shape[1] + 1)], axis=1)
    rises: FloatArray = np.diff(levels, axis=1)
    return rises


def _conditional_survival(
    age: FloatArray, ahead: FloatArray, life: tuple[FloatArray, FloatArray]
) -> FloatArray:
    added = added_hazard(age, ahead, *life)
    whole: FloatArray = np.exp(-np.minimum(added, LARGEST_EXPONENT))
    return whole
