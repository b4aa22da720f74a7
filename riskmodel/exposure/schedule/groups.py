"""Groups of boats that are alike, counted: found in one stretch of a schedule, then joined over all of it.

All sums are whole numbers, so that they come out the same to the last bit in whatever order stretches are joined.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.bands import BLANK, LEVELS, Likeness, band, coarser

IntArray = npt.NDArray[np.int64]
# Numbers are added up in thousandths: millimetres, tenths of a cent.
PER_UNIT = 1000.0
MOST_CODES = MOST_SUM = 2**62
Found = TypeVar("Found")
# What a stretch may leave for a later level to join, beyond what is wanted of the whole.
ROOM = 4


@dataclass(frozen=True, eq=False)
class Groups:
    """Groups at a ``level``: ``keys`` (g rows: the words, and each number's band), ``boats`` (g,), and ``sums``
    (g, numbers): of the numbers of their boats, in thousandths."""

    like: Likeness
    level: int
    keys: pd.DataFrame
    boats: IntArray
    sums: IntArray

    @property
    def means(self) -> pd.DataFrame:
        """One row a group: its words, and the means of its numbers (NaN where not said)."""
        found = self.keys[list(self.like.words)].copy()
        for place, name in enumerate(self.like.numbers):
            key = self.keys[name].to_numpy(dtype=float)
            # Boats that are equal have their own number for a mean, of any precision.
            mean = key if self.level == 0 else self.sums[:, place] / self.boats / PER_UNIT
            found[name] = np.where(key == BLANK, np.nan, mean)
        return found


def grouped(frame: pd.DataFrame, like: Likeness) -> tuple[Groups, IntArray]:
    """Groups of the boats in a frame, at the finest level that keeps them few, and the group of each boat (n,).

    ``frame``: columns of ``like``, words as text ("" not said) and numbers as floats (NaN not said); a column that is
    not there says nothing.
    """
    told = [name for name in like.words if name in frame]
    words = _coded([pd.factorize(frame[name].to_numpy())[0] for name in told], len(frame))
    numbers = {name: frame[name].to_numpy(dtype=float) for name in like.numbers if name in frame}

    def at(level: int) -> tuple[dict[str, FloatArray], IntArray, IntArray]:
        bands = {name: band(values, like.numbers[name], level) for name, values in numbers.items()}
        codes = _coded([words, *(pd.factorize(each)[0] for each in bands.values())], len(frame))
        return bands, *_distinct(codes)

    level, (bands, place, first) = _finest(at, lambda found: len(found[2]) <= ROOM * like.most)
    keys = pd.DataFrame(index=pd.RangeIndex(len(first)))
    for name in like.words:
        keys[name] = frame[name].to_numpy()[first] if name in told else ""
    sums = np.zeros((len(first), len(like.numbers)), dtype=np.int64)
    for column, name in enumerate(like.numbers):
        keys[name] = bands[name][first] if name in bands else BLANK
        if name in numbers:
            sums[:, column] = _sums(place, (name, numbers[name]), len(first))
    boats = np.bincount(place, minlength=len(first)).astype(np.int64)
    return Groups(like, level, keys, boats, sums), place


def joined(parts: Sequence[Groups]) -> tuple[Groups, list[IntArray]]:
    """The groups of all stretches together, at the finest level that keeps to ``most``; and for each stretch the
    place of its groups among them. Which stretches there were makes no difference."""
    most, last = parts[0].like.most, max(each.level for each in parts)
    _, (whole, places) = _finest(
        lambda level: _at_level(parts, level), lambda found: len(found[0].boats) <= most, last
    )
    return whole, places


def _finest(at: Callable[[int], Found], few: Callable[[Found], bool], first: int = 0) -> tuple[int, Found]:
    """The first level from ``first`` on at which there are ``few`` groups, else the last; and what is there.

    Groups only become fewer from level to level, so that levels need not be tried one after the other.
    """
    found = at(first)
    if few(found):
        return first, found
    low, high = first, LEVELS - 1
    known: dict[int, Found] = {}
    while high - low > 1:
        middle = (low + high) // 2
        found = at(middle)
        if few(found):
            high, known[middle] = middle, found
        else:
            low = middle
    return high, known[high] if high in known else at(high)


def _at_level(parts: Sequence[Groups], level: int) -> tuple[Groups, list[IntArray]]:
    like = parts[0].like
    keys = pd.concat([_moved(each, level) for each in parts], ignore_index=True)
    by = [*like.words, *like.numbers]
    # In the order of the keys themselves, which is the same however the schedule was cut.
    order = keys[by].drop_duplicates().sort_values(by, kind="stable", ignore_index=True)
    numbered = order.assign(_place=np.arange(len(order)))
    place = keys[by].merge(numbered, on=by, how="left")["_place"].to_numpy(dtype=np.int64)
    boats, sums = (
        np.zeros(len(order), dtype=np.int64),
        np.zeros((len(order), len(like.numbers)), dtype=np.int64),
    )
    np.add.at(boats, place, np.concatenate([each.boats for each in parts]))
    told = np.concatenate([each.sums for each in parts])
    for column, name in enumerate(like.numbers):
        _refuse_too_much(told[:, column].astype(float), name)
    np.add.at(sums, place, told)
    ends = np.cumsum([len(each.boats) for each in parts])[:-1]
    return Groups(like, level, order, boats, sums), list(np.split(place, ends))


def _moved(groups: Groups, level: int) -> pd.DataFrame:
    moved = {
        name: coarser(groups.keys[name].to_numpy(dtype=float), scale, (groups.level, level))
        for name, scale in groups.like.numbers.items()
    }
    return groups.keys.assign(**moved)


def _coded(columns: Sequence[npt.NDArray[np.intp]], length: int) -> IntArray:
    """One code for each row's combination of codes."""
    whole, size = np.zeros(length, dtype=np.int64), 1
    for codes in columns:
        width = int(codes.max(initial=0)) + 1
        if size * width > MOST_CODES:
            whole = pd.factorize(whole)[0].astype(np.int64)
            size = int(whole.max(initial=0)) + 1
        whole, size = whole * width + codes, size * width
    return whole


def _distinct(codes: IntArray) -> tuple[IntArray, IntArray]:
    place, values = pd.factorize(codes)
    first = np.zeros(len(values), dtype=np.int64)
    first[place[::-1]] = np.arange(len(codes))[::-1]
    return place.astype(np.int64), first


def _sums(place: IntArray, column: tuple[str, FloatArray], groups: int) -> IntArray:
    name, values = column
    whole = np.rint(np.nan_to_num(values) * PER_UNIT)
    _refuse_too_much(whole, name)
    found = np.zeros(groups, dtype=np.int64)
    np.add.at(found, place, whole.astype(np.int64))
    return found


def _refuse_too_much(thousandths: FloatArray, name: str) -> None:
    if np.abs(thousandths).sum() > MOST_SUM:
        rule = f"must add up to at most {MOST_SUM / PER_UNIT:.1e}: give a larger unit"
        raise TableError([Problem("vessels", 0, name, rule, "more")])
