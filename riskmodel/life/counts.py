"""Rows whose ages are equal, collapsed to counts: all a fit needs of them, and far fewer than the rows.

Ages that come from dates are whole days divided by 365.25, and meters are read in whole hours. Where an age
is, to the last bit, a whole number of cells of such a lattice, equal ages are counted by cell; all others are
counted by sorting. Nothing is rounded either way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.life.blocks import each_block
from riskmodel.life.rows import LifeRows, seen_once

# Cells a unit of age: days and half days where the unit is a year, else whole units (hours, days).
RATES = (365.25, 730.5, 1.0)
# Rows looked at to choose a lattice, and the number of rows below which sorting is as quick.
SAMPLE = 4096
# A lattice of more cells than this (300 years of days, 15 years of running hours) would cost more than sorting.
MOST_CELLS = 2**17
# Interval cells counted by place rather than by sorting when the table of places is no larger than this.
MOST_PLACES = 2**24


@dataclass(frozen=True)
class Counts:
    """Life rows of one class and clock with equal ages collapsed.

    ``age`` (n,): distinct ages, ascending; ``exits``, ``entries``, ``failures`` (n,): how many lives left
    watch, came under watch and failed exactly at that age. A life that failed in an interval exits at its
    lower end. ``lower``, ``upper``, ``pairs`` (m,): distinct intervals of failure and their counts.
    ``counts + counts`` are the counts of both sets of rows.
    """

    age: FloatArray
    exits: FloatArray
    entries: FloatArray
    failures: FloatArray
    lower: FloatArray
    upper: FloatArray
    pairs: FloatArray

    def __add__(self, other: Counts) -> Counts:
        age = _union(self.age, other.age)
        exits, entries, failures = (
            _spread(age, self.age, mine) + _spread(age, other.age, theirs)
            for mine, theirs in (
                (self.exits, other.exits),
                (self.entries, other.entries),
                (self.failures, other.failures),
            )
        )
        lower, upper, pairs = _intervals(
            np.concatenate([self.lower, other.lower]),
            np.concatenate([self.upper, other.upper]),
            np.concatenate([self.pairs, other.pairs]),
        )
        return Counts(age, exits, entries, failures, lower, upper, pairs)


def count_rows(rows: LifeRows) -> Counts:
    """The counts of ``rows``: equal ages are collapsed, nothing is rounded."""
    rate = _lattice(rows)
    if rate == 0:
        return _by_sorting(rows.lower, rows.upper, rows.entry, rows.count)
    counts, rest = _by_cell(rows, rate)
    if not len(rest):
        return counts
    return counts + _by_sorting(rows.lower[rest], rows.upper[rest], rows.entry[rest], rows.count[rest])


def _lattice(rows: LifeRows) -> float:
    """Cells a unit of age of the lattice that holds most of a sample of the rows; 0 when sorting is as good."""
    sample = rows.lower[:: max(len(rows) // SAMPLE, 1)]
    if len(rows) < SAMPLE or not len(sample):
        return 0.0
    held = [float(np.mean(_cell(sample, rate) / rate == sample)) for rate in RATES]
    best = int(np.argmax(held))
    few_cells = float(rows.lower.max()) * RATES[best] < MOST_CELLS
    return RATES[best] if held[best] > 0.5 and few_cells else 0.0


def _by_sorting(lower: FloatArray, upper: FloatArray, entry: FloatArray, count: FloatArray) -> Counts:
    exact = lower == upper
    between = np.isfinite(upper) & ~exact
    age, place = np.unique(np.concatenate([lower, entry]), return_inverse=True)
    out, came = place[: len(lower)], place[len(lower) :]
    exits, entries, failures = (
        np.bincount(where, weights=weight, minlength=len(age)).astype(float)
        for where, weight in ((out, count), (came, count), (out[exact], count[exact]))
    )
    pairs = _intervals(lower[between], upper[between], count[between])
    return Counts(age, exits, entries, failures, *pairs)


def _by_cell(rows: LifeRows, rate: float) -> tuple[Counts, npt.NDArray[np.intp]]:
    """Counts of the rows whose ages lie on the lattice, and the places of the rows that do not."""
    cells = round(float(rows.lower.max()) * rate) + 1
    totals = np.zeros((3, cells))
    blocks = []
    for block in each_block(lambda part: _count_block(rows, part, rate, cells), len(rows)):
        totals += block.totals
        blocks.append(block)
    lived = np.flatnonzero(totals.any(axis=0))
    exits, failures, entries = totals[:, lived]
    lower, upper, pairs = _collapse_cells(
        np.concatenate([block.low for block in blocks]),
        np.concatenate([block.width for block in blocks]),
        _joined(blocks),
    )
    counts = Counts(lived / rate, exits, entries, failures, lower / rate, upper / rate, pairs)
    return counts, np.concatenate([block.rest for block in blocks])


@dataclass(frozen=True)
class _Block:
    """What one step found: exits, failures and entries by cell (3, cells); interval rows; rows left over.

    ``weight`` of the interval rows is None where every row stands for one life.
    """

    totals: FloatArray
    low: npt.NDArray[np.int32]
    width: npt.NDArray[np.int32]
    weight: FloatArray | None
    rest: npt.NDArray[np.intp]


def _count_block(rows: LifeRows, part: slice, rate: float, cells: int) -> _Block:
    lower, upper, entry, count = rows.lower[part], rows.upper[part], rows.entry[part], rows.count[part]
    between = np.flatnonzero((lower < upper) & (upper < np.inf))
    # Most lives are watched from new: only the others are worth the arithmetic.
    late = np.flatnonzero(entry > 0)
    low, high, came = _cell(lower, rate), _cell(upper[between], rate), _cell(entry[late], rate)
    held = low / rate == lower
    # Places in the block are written to only where a row does not fit, which is rare.
    held[late[came / rate != entry[late]]] = False
    held[between[(high / rate != upper[between]) | (high >= MOST_CELLS)]] = False
    rest = part.start + np.flatnonzero(~held)
    if len(rest):
        between, high = between[held[between]], high[held[between]]
    # Rows that stand for one life each, the usual ones, need no weights.
    plain = not len(rest) and bool((seen_once(count) == 1).all())
    weight = None if plain else np.where(held, count, 0.0)
    exact = np.flatnonzero(lower == upper)
    totals = np.zeros((3, cells))
    out = low.astype(np.intp)
    totals[0] = np.bincount(out, weight, cells)
    totals[1] = np.bincount(out[exact], _at(weight, exact), cells)
    totals[2] = np.bincount(came.astype(np.intp), _at(weight, late), cells)
    totals[2, 0] = len(out) - len(late) if weight is None else weight[entry == 0].sum()
    width = high - low[between]
    narrow = low[between].astype(np.int32), width.astype(np.int32)
    return _Block(totals, *narrow, _at(weight, between), rest)


def _cell(age: FloatArray, rate: float) -> FloatArray:
    """The nearest cell to each age; it holds the age only if it gives it back to the last bit."""
    place = age * rate
    return np.rint(place, out=place)


def _at(weight: FloatArray | None, places: npt.NDArray[np.intp]) -> FloatArray | None:
    return None if weight is None else weight[places]


def _joined(blocks: list[_Block]) -> FloatArray | None:
    """Weights of all interval rows; None, which spares reading them, where every row stands for one life."""
    if all(block.weight is None for block in blocks):
        return None
    return np.concatenate(
        [np.ones(len(block.low)) if block.weight is None else block.weight for block in blocks]
    )


def _collapse_cells(
    low: npt.NDArray[np.int32], width: npt.NDArray[np.int32], weight: FloatArray | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Distinct (lower cell, upper cell) in ascending order and their counts."""
    span = int(width.max(initial=0)) + 1
    place = low.astype(np.intp)
    place *= span
    place += width
    if place.max(initial=0) < MOST_PLACES:
        sums = np.bincount(place, weight).astype(float)
        distinct = np.flatnonzero(sums)
        sums = sums[distinct]
    else:
        distinct, where = np.unique(place, return_inverse=True)
        sums = np.bincount(where, weight).astype(float)
    first = distinct // span
    return first.astype(float), (first + distinct % span).astype(float), sums


def _intervals(
    lower: FloatArray, upper: FloatArray, count: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    distinct, place = np.unique(lower + 1j * upper, return_inverse=True)
    sums = np.bincount(place, weights=count, minlength=len(distinct)).astype(float)
    return distinct.real.copy(), distinct.imag.copy(), sums


def _union(mine: FloatArray, theirs: FloatArray) -> FloatArray:
    """Ages of both, ascending; ages already there, as most of the days of a fleet are, cost no sort."""
    place = np.minimum(np.searchsorted(mine, theirs), max(len(mine) - 1, 0))
    if len(mine) and np.array_equal(mine[place], theirs):
        return mine
    union: FloatArray = np.union1d(mine, theirs)
    return union


def _spread(union: FloatArray, age: FloatArray, values: FloatArray) -> FloatArray:
    if union is age:
        return values
    spread = np.zeros(len(union))
    spread[np.searchsorted(union, age)] = values
    return spread
