"""How long a hull takes to fill: a head that changes as the boat settles, against a pump that stops one day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.consequence.flooding.inflow import GRAVITY, SHARP_EDGED, head, orifice
from riskmodel.errors import ParameterError

# Boats are worked through in blocks of about this many, which stay in the processor's cache.
_BLOCK = 1 << 14
# Below this contrast of the two ends' rates a series is used: the closed form would lose its digits.
_SERIES_BELOW = 0.03
# Steps to the volume reached when the pump stops: they gain on it quadratically, 4 or 5 do, but for a hull about to
# run out of head, where each step leaves a seventh of what is missing.
_STEPS, _CLOSE = 30, 1e-14
# Largest contrast of rates: the logarithm of the closed form stays finite, its factor makes up for it.
_MOST = 1.0 - 1e-15
# Root of a head that is nothing but may still be divided by.
_LEAST = 1e-100


@dataclass(frozen=True)
class Leak:
    """All that comes in while a hull fills, arrays that broadcast; ``leak`` makes a checked one.

    ``strength`` [m^2.5/s]: C_d A sqrt(2 g); ``depth``: head [m] over the hole at the floating trim;
    ``settled_depth``: head [m] left over it when the hull has taken its volume; ``background`` [m3/s]: rain and drips.
    """

    strength: FloatArray
    depth: FloatArray
    settled_depth: FloatArray
    background: FloatArray


def leak(
    area: npt.ArrayLike,
    depth: npt.ArrayLike,
    *,
    discharge_coefficient: npt.ArrayLike = SHARP_EDGED,
    settled_depth: npt.ArrayLike | None = None,
    background: npt.ArrayLike = 0.0,
) -> Leak:
    """A checked Leak: a hole of ``area`` [m2] at ``depth`` [m], and a constant ``background`` [m3/s].

    As water comes in the boat settles, which deepens the hole, and the level inside rises over it, which works
    against the sea: between the two the head goes in a straight line with the volume taken, from ``depth`` to
    ``settled_depth``. Without one it stays as it is, which is the quicker end of what boats do. ``combined_opening``
    gives the one hole that stands for several. Raises ParameterError as ``inflow_rate`` does.
    """
    return Leak(
        strength=orifice(area, discharge_coefficient),
        depth=head(depth),
        settled_depth=head(depth if settled_depth is None else settled_depth),
        background=not_negative("background", background),
    )


def time_to_flood(
    volume: npt.ArrayLike,
    area: npt.ArrayLike,
    depth: npt.ArrayLike,
    *,
    discharge_coefficient: npt.ArrayLike = SHARP_EDGED,
    pump: npt.ArrayLike = 0.0,
    pump_seconds: npt.ArrayLike = np.inf,
) -> FloatArray:
    """Seconds until ``volume`` [m3] has come in through a hole of ``area`` [m2] at a ``depth`` [m] that stays.

    ``pump`` [m3/s] is thrown out for ``pump_seconds``; inf where the volume is never reached. For a head that
    changes, or rain besides, ``filling_time`` of ``leak``. Raises ParameterError as those do.
    """
    hole = leak(area, depth, discharge_coefficient=discharge_coefficient)
    return filling_time(volume, hole, pump=pump, pump_seconds=pump_seconds)


def filling_time(
    volume: npt.ArrayLike, leak: Leak, *, pump: npt.ArrayLike = 0.0, pump_seconds: npt.ArrayLike = np.inf
) -> FloatArray:
    """Seconds until a hull has taken ``volume`` [m3]; inf where it never does. Broadcasts over everything.

    While the pump runs, and again after it stops, dV/dt = k sqrt(h) + q with h in a straight line in V (Torricelli's
    law), which has the closed form V / m (a - y (a - 1) / x): m the mean of the rates at both ends, x half their
    difference over m, y the same contrast of the roots of the heads, a = artanh(x) / x.

    Parameters
    ----------
    volume : array_like
        Above 0 [m3]; inf for a hull that cannot be filled.
    leak : Leak
        What comes in; its ``settled_depth`` is the head at ``volume``.
    pump : array_like
        What is thrown out [m3/s], from ``pump_flow``.
    pump_seconds : array_like
        How long it is, from ``endurance``; 0 or more, inf for ever.

    Raises
    ------
    ParameterError
        For a volume that is not above 0, a negative pump, a negative or missing time.
    """
    room, lasts = np.asarray(volume, dtype=float), np.asarray(pump_seconds, dtype=float)
    if not (room > 0).all():
        raise ParameterError(f"volume must be above 0, got {room[~(room > 0)][0]}")
    if not (lasts >= 0).all():
        raise ParameterError(f"pump_seconds must be 0 or more, got {lasts[~(lasts >= 0)][0]}")
    coming = (leak.strength, leak.depth, leak.settled_depth, leak.background)
    given = (room, *coming, not_negative("pump", pump), lasts)
    shape = np.broadcast_shapes(*(each.shape for each in given))
    rows = np.broadcast_arrays(*(np.atleast_1d(each) for each in given))
    times = np.empty(shape or (1,))
    step = max(1, _BLOCK // max(1, int(np.prod(shape[1:]))))
    for start in range(0, len(times), step):
        block = slice(start, start + step)
        times[block] = _block(*(each[block] for each in rows))
    return times.reshape(shape)


def compartment_volume(volume: npt.ArrayLike, compartments: npt.ArrayLike) -> FloatArray:
    """Water [m3] that one of ``compartments`` equal watertight ones takes, of a hull that takes ``volume`` in all.

    Raises ParameterError for a negative volume or fewer than one compartment.
    """
    count = np.asarray(compartments, dtype=float)
    if not (count >= 1).all():
        raise ParameterError(f"compartments must be 1 or more, got {count[~(count >= 1)][0]}")
    part: FloatArray = not_negative("volume", volume) / count
    return part


def sinking_volume(
    volume: npt.ArrayLike, compartments: npt.ArrayLike, reserve_share: npt.ArrayLike
) -> FloatArray:
    """Water [m3] that sinks a boat of which one compartment floods: the compartment's, or inf where she stays afloat.

    She does while the compartment's share of the hull is within ``reserve_share``, the share that may be open to the
    sea with the boat afloat on the rest: 0 for a single hull without buoyancy, large for a multihull. Raises
    ParameterError as ``compartment_volume`` does, and unless the share lies from 0 to 1.
    """
    reserve = not_negative("reserve_share", reserve_share)
    if (reserve > 1).any():
        raise ParameterError(f"reserve_share must be at most 1, got {reserve.max()}")
    part = compartment_volume(volume, compartments)
    sinks: FloatArray = np.where(1.0 / np.asarray(compartments, dtype=float) > reserve, part, np.inf)
    return sinks


def torricelli_emptying_time(
    tank_area: npt.ArrayLike,
    hole_area: npt.ArrayLike,
    height: npt.ArrayLike,
    discharge_coefficient: npt.ArrayLike = SHARP_EDGED,
) -> FloatArray:
    """Seconds in which an upright tank runs empty through a hole in its bottom: A_tank / (C_d A) sqrt(2 H / g).

    Areas in m2, ``height`` of the water in m. It is the filling of a hull whose head is used up as it fills, seen
    from the other side. Raises ParameterError for a negative tank or height, or a hole of no size.
    """
    strength = orifice(hole_area, discharge_coefficient) / np.sqrt(2.0 * GRAVITY)
    if (strength == 0).any():
        raise ParameterError("hole_area must be above 0, got 0")
    tank, water = not_negative("tank_area", tank_area), not_negative("height", height)
    seconds: FloatArray = tank / strength * np.sqrt(2.0 * water / GRAVITY)
    return seconds


def _block(*given: FloatArray) -> FloatArray:
    """Times of one block: volume, strength, both heads, background, pump and how long it runs."""
    volume, strength, depth, settled, background, pump, lasts = given
    first, last = np.sqrt(depth), np.sqrt(settled)
    times = _time(volume, strength, first, last, background - pump)
    stops = np.nonzero(lasts < times)
    if stops[0].size:
        states = (volume, strength, first, last, background, background - pump, lasts, times)
        times[stops] = _stopped(*(each[stops] for each in states))
    return times


def _stopped(*given: FloatArray) -> FloatArray:
    """Times (m,) of boats whose pump stops before they are full; ``other``, ``full``: flow and time if it did not."""
    volume, strength, first, last, background, other, lasts, full = given
    # Where the head grows, the same filling is followed backward from the end, so that it falls there too.
    grows = (last > first) & (lasts > 0) & np.isfinite(full)
    ends = np.where(grows, last, first), np.where(grows, first, last)
    reached = _reached(volume, strength, *ends, other, np.where(grows, full - lasts, lasts))
    reached = np.where(grows, volume - reached, reached)
    root = np.maximum(_root(first, last, reached / volume), np.minimum(first, last))
    rest = volume - reached
    pumped, alone = strength * root + other, strength * root + background
    # What is wrong with the volume reached counts for little: if the pump does little, by the difference of the two
    # ways to fill the rest, else by the flow without it.
    weak = np.isfinite(full) & (pumped > 0.5 * alone)
    stop = np.where(weak, full, lasts) - np.where(weak, _time(rest, strength, root, last, other), 0.0)
    times: FloatArray = stop + _time(rest, strength, root, last, background)
    return times


def _time(
    volume: FloatArray, strength: FloatArray, first: FloatArray, last: FloatArray, other: FloatArray
) -> FloatArray:
    """Seconds to take ``volume`` while the root of the head goes from ``first`` to ``last``; inf where it never does.

    ``other`` is the constant part of the net flow. The form is free of small differences: it holds for a head that
    stays, for a hole of no size, and for a volume of nothing.
    """
    begin, end = strength * first + other, strength * last + other
    # The flow dies away before the volume is there, or as it is there but only in infinite time.
    never = (begin <= 0) | (end < 0) | ((end == 0) & (other < 0))
    simple = never | (volume == 0)
    both = np.where(simple, 1.0, begin + end)
    contrast = np.where(simple, 0.0, np.clip((begin - end) / both, -_MOST, _MOST))
    roots = first + last
    drop = (first - last) / np.where(roots > 0, roots, 1.0)
    ratio, over = _artanh_ratios(contrast)
    with np.errstate(over="ignore"):
        seconds = volume * (2.0 / both) * (ratio - drop * over)
    times: FloatArray = np.where(never & (volume > 0), np.inf, seconds)
    return times


def _artanh_ratios(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """artanh(x) / x and (artanh(x) / x - 1) / x."""
    small = np.abs(x) < _SERIES_BELOW
    square = x * x
    series = x * (1 / 3 + square * (1 / 5 + square * (1 / 7 + square / 9)))
    safe = np.where(small, 0.5, x)
    ratio = np.arctanh(safe) / safe
    return np.where(small, 1.0 + x * series, ratio), np.where(small, series, (ratio - 1.0) / safe)


def _root(first: FloatArray, last: FloatArray, share: FloatArray) -> FloatArray:
    """Root of the head once ``share`` of the volume is in."""
    square = first * first
    root: FloatArray = np.sqrt(np.maximum(square - (square - last * last) * share, 0.0))
    return root


def _reached(*given: FloatArray) -> FloatArray:
    """Volume taken in the time ``lasts``, before the hull is full: (m,) by Newton steps that never pass it.

    The flow falls in V ever more steeply, so it stays above the straight line from any volume reached to where the
    filling ends, at the last head or where the pump keeps up. Along that line the volume runs to its end
    exponentially; each step goes that way for the time that is left, and so comes nearer from below.
    """
    volume, strength, first, last, other, lasts = given
    balance = np.divide(-other, strength, out=np.zeros_like(other), where=strength > 0)
    fills = strength * first + other > 0
    target = np.where(fills, np.maximum(last, balance), first)
    slope = strength * (first * first - last * last) / volume
    reached, root, left = np.zeros_like(volume), first, np.where(fills, lasts, 0.0)
    for _ in range(_STEPS):
        flow = np.maximum(strength * root + other, 0.0)
        steepness = slope / np.maximum(root + target, _LEAST)
        step = flow * left * _decay(steepness * left)
        reached = np.minimum(reached + step, volume)
        if not (step > _CLOSE * volume).any():
            break
        root = _root(first, last, reached / volume)
        left = np.maximum(lasts - _time(reached, strength, first, root, other), 0.0) * fills
    return reached


def _decay(x: FloatArray) -> FloatArray:
    """(1 - exp(-x)) / x, 1 at 0."""
    safe = np.where(x == 0, 1.0, x)
    decay: FloatArray = np.where(x == 0, 1.0, -np.expm1(-safe) / safe)
    return decay
