"""A boat adrift: how the wind is on a night at anchor, how long she takes to the shore, and who stops her."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray

# Winds [m/s] at which a night is worked out, one for each metre a second up to a hurricane's.
WINDS = np.arange(0.5, 40.0, 1.0)


@dataclass(frozen=True)
class Shore:
    """What lies to leeward; the fields broadcast.

    ``lee`` is the share of times that a shore or other boats lie downwind, at ``distance_m``; the boat drifts with
    ``wind_share`` of the wind, between ``slowest`` and ``fastest`` [m/s].
    """

    lee: FloatArray
    distance_m: FloatArray
    wind_share: FloatArray
    slowest: FloatArray
    fastest: FloatArray


@dataclass(frozen=True)
class Crew:
    """Who can stop a drifting boat; the fields broadcast.

    ``absent`` and ``asleep`` (of those aboard) are shares of times, ``awake_minutes`` and ``asleep_minutes`` the mean
    times until engine or second anchor is tried, ``neither_works`` the chance that neither then holds her.
    """

    absent: FloatArray
    asleep: FloatArray
    awake_minutes: FloatArray
    asleep_minutes: FloatArray
    neither_works: FloatArray


def share_of_nights(mean_wind: FloatArray) -> FloatArray:
    """(..., winds) share of nights whose strongest wind lies within half a metre a second of each of WINDS.

    Rayleigh distribution of the given mean [m/s], the usual one where only the mean is known; the last class holds
    all that is stronger.
    """
    edges = np.append(WINDS - 0.5, np.inf)
    with np.errstate(over="ignore"):
        above = np.exp(-math.pi / 4.0 * np.square(edges / mean_wind[..., None]))
    share: FloatArray = above[..., :-1] - above[..., 1:]
    return share


def minutes_to_shore(wind: FloatArray, shore: Shore) -> FloatArray:
    """Minutes from parting to the shore or the next boat: distance over drift speed."""
    speed = np.clip(shore.wind_share * wind, shore.slowest, shore.fastest)
    minutes: FloatArray = shore.distance_m / speed / 60.0
    return minutes


def chance_lost(minutes: FloatArray, shore: Shore, crew: Crew) -> FloatArray:
    """P(aground or into another boat | adrift, so many minutes off), rising as the minutes shorten."""
    asleep = _too_late(minutes, crew.asleep_minutes, crew.neither_works)
    awake = _too_late(minutes, crew.awake_minutes, crew.neither_works)
    aboard = crew.asleep * asleep + (1.0 - crew.asleep) * awake
    lost: FloatArray = shore.lee * (crew.absent + (1.0 - crew.absent) * aboard)
    return lost


def _too_late(minutes: FloatArray, mean_minutes: FloatArray, neither_works: FloatArray) -> FloatArray:
    late: FloatArray = 1.0 - (1.0 - neither_works) * -np.expm1(-minutes / mean_minutes)
    return late
