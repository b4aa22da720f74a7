"""How finely boats are told apart: exactly where there are few kinds, else by bands that double in width by level.

Level 0 is the value itself; level 1 the finest band; each level after it joins bands by two, so that a group of one
level lies whole inside a group of the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray

LEVELS = 8
# A band that stands for "not said".
BLANK = -(2.0**40)


@dataclass(frozen=True)
class ByRatio:
    """Bands of the logarithm: so many to a doubling of the value at level 1."""

    per_doubling: float

    def finest(self, value: FloatArray) -> FloatArray:
        """(n,) bands of level 1."""
        # Nothing is a value of its own: no fee, no visits.
        some = value > 0
        logs = np.log2(np.where(some, value, 1.0))
        return np.where(some, np.floor(logs * self.per_doubling), BLANK / 2.0)


@dataclass(frozen=True)
class ByWidth:
    """Bands of equal width at level 1, in the value's own unit."""

    width: float

    def finest(self, value: FloatArray) -> FloatArray:
        """(n,) bands of level 1."""
        found: FloatArray = np.floor(value / self.width)
        return found


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
        return np.where(blank, BLANK, value)
    fine = scale.finest(np.where(blank, 1.0, value))
    return np.where(blank, BLANK, wider(fine, level - 1))


def wider(bands: FloatArray, levels: int) -> FloatArray:
    """Bands ``levels`` levels on; what stands for nothing or not said stays."""
    joined = np.floor(bands / 2.0**levels)
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
        return f"{each:g}"
    ends = each * 2.0 ** (level - 1), (each + 1.0) * 2.0 ** (level - 1)
    if isinstance(scale, ByRatio):
        low, high = (2.0 ** (end / scale.per_doubling) for end in ends)
    else:
        low, high = (end * scale.width for end in ends)
    return f"{low:,.4g} to {high:,.4g}"


def coarser(bands: FloatArray, scale: Scale, levels: tuple[int, int]) -> FloatArray:
    """Bands of level ``levels[0]`` at level ``levels[1]``, the same or a later one."""
    now, later = levels
    if now == later:
        return bands
    if now == 0:
        return band(np.where(bands == BLANK, np.nan, bands), scale, later)
    return wider(bands, later - now)
