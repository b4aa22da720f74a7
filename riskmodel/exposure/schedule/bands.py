"""How finely boats are told apart: exactly where there are few kinds, else by bands that widen level by level.

Level 0 is the value itself, level 1 the finest band of every number. From there on each level joins the bands of some
numbers by two, turn by turn, the less telling first: a group of one level lies whole inside a group of the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray

# Turns in a round, and levels after which every number has been joined six times.
TURNS = 4
LEVELS = 2 + 6 * TURNS
# A band that stands for "not said".
BLANK = -(2.0**40)


@dataclass(frozen=True)
class ByRatio:
    """Bands of the logarithm: so many to a doubling of the value at level 1, joined in a ``turn`` of each round."""

    per_doubling: float
    turn: int = 0

    def finest(self, value: FloatArray) -> FloatArray:
        """(n,) bands of level 1."""
        # Nothing is a value of its own: no fee, no visits.
        some = value > 0
        logs = np.log2(np.where(some, value, 1.0))
        return np.where(some, np.floor(logs * self.per_doubling), BLANK / 2.0)


@dataclass(frozen=True)
class ByWidth:
    """Bands of equal width at level 1, in the value's own unit, joined in a ``turn`` of each round."""

    width: float
    turn: int = 0

    def finest(self, value: FloatArray) -> FloatArray:
        """(n,) bands of level 1."""
        found: FloatArray = np.floor(value / self.width)
        return found


@dataclass(frozen=True)
class ByCount(ByWidth):
    """Bands of whole numbers, such as years."""


@dataclass(frozen=True)
class ByDay(ByWidth):
    """Bands of days since 1970."""


Scale = ByRatio | ByWidth


@dataclass(frozen=True)
class Likeness:
    """What makes boats alike for one purpose: columns of words that must agree, and numbers that must be close.

    ``most``: how many groups are wanted at most; the finest level that keeps to it is taken.
    """

    words: tuple[str, ...]
    numbers: Mapping[str, Scale]
    most: int


def band(value: FloatArray, scale: Scale, level: int) -> FloatArray:
    """(n,) the value itself at level 0, else its band; BLANK where it is not said (NaN)."""
    blank = np.isnan(value)
    if level == 0:
        # Nothing is one value, whatever its sign.
        return np.where(blank, BLANK, value) + 0.0
    fine = scale.finest(np.where(blank, 1.0, value))
    return np.where(blank, BLANK, wider(fine, joinings(scale, level)))


def joinings(scale: Scale, level: int) -> int:
    """How often the finest bands have been joined by two at a level of 1 or more."""
    return max(level - 2 - scale.turn + TURNS, 0) // TURNS


def wider(bands: FloatArray, times: int) -> FloatArray:
    """Bands joined by two so many times; what stands for nothing or not said stays."""
    joined = np.floor(bands / 2.0**times)
    found: FloatArray = np.where(bands <= BLANK / 2.0, bands, joined)
    return found


def band_words(bands: FloatArray, scale: Scale, level: int) -> npt.NDArray[np.object_]:
    """(n,) each band in words: the number itself at level 0, else from where to where."""
    return np.array([_band_word(float(each), scale, level) for each in bands], dtype=object)


def _band_word(each: float, scale: Scale, level: int) -> str:
    if each == BLANK:
        return "not said"
    if each == BLANK / 2.0:
        return "0"
    if level == 0:
        return _whole(each, scale) if isinstance(scale, ByCount | ByDay) else f"{each:,.12g}"
    times = 2.0 ** joinings(scale, level)
    ends = each * times, (each + 1.0) * times
    if isinstance(scale, ByRatio):
        low, high = (_plain(2.0 ** (end / scale.per_doubling)) for end in ends)
    elif isinstance(scale, ByCount | ByDay):
        # The last whole number in the band, and not the first of the next.
        low, high = (_whole(end * scale.width - last, scale) for last, end in enumerate(ends))
    else:
        low, high = (_plain(end * scale.width) for end in ends)
    return low if low == high else f"{low} to {high}"


def _plain(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 100 else f"{number:.3g}"


def _whole(number: float, scale: Scale) -> str:
    """A year without marks between its digits; a day of the calendar."""
    return str(np.datetime64(round(number), "D")) if isinstance(scale, ByDay) else f"{number:.0f}"


def coarser(bands: FloatArray, scale: Scale, levels: tuple[int, int]) -> FloatArray:
    """Bands of level ``levels[0]`` at level ``levels[1]``, the same or a later one."""
    now, later = levels
    if now == later:
        return bands
    if now == 0:
        return band(np.where(bands == BLANK, np.nan, bands), scale, later)
    return wider(bands, joinings(scale, later) - joinings(scale, now))
