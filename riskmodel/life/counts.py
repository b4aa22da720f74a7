"""Rows whose ages are equal, collapsed to counts: all a fit needs of them, and far fewer than the rows.

Ages that come from dates are whole days divided by 365.25, and meters are read in whole hours. Where an age
is, to the last bit, a whole number of cells of such a lattice, equal ages are counted by cell; all others are
counted by sorting. Nothing is rounded either way.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.life.rows import LifeRows

# Cells a unit of age: days and half days where the unit is a year, else whole units (hours, days).
RATES = (365.25, 730.5, 1.0)
# Rows looked at to choose a lattice, and the number of rows below which sorting is as quick.
SAMPLE = 4096
# A lattice of more cells than this (hours of 60 years) would cost more than sorting.
MOST_CELLS = 2**19
# Rows a step: small enough that what a step forms stays in the processor's cache.
BLOCK = 2**16
WORKERS = 2
# The two cells of an interval in one whole number: the lower above this many bits, the upper below.
BITS = 20
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
    held = [float(np.mean(np.rint(sample * rate) / rate == sample)) for rate in RATES]
    best = int(np.argmax(held))
    few_cells = float(np.median(sample)) * RATES[best] < MOST_CELLS
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
    cells = int(min(float(rows.lower.max()) * rate, MOST_CELLS)) + 2
    totals = np.zeros(3 * cells)
    keys, weights, rest = [], [], []
    # Steps run side by side but are added in their order: the same rows give the same bytes on any machine.
    with ThreadPoolExecutor(WORKERS) as workers:
        blocks = range(0, len(rows), BLOCK)
        for found in workers.map(lambda start: _count_block(rows, start, rate, cells), blocks):
            totals += found.totals
            keys.append(found.keys)
            weights.append(found.weights)
            rest.append(found.rest)
    whole, failures, entries = totals.reshape(3, cells)
    lived = np.flatnonzero(totals.reshape(3, cells).any(axis=0))
    lower, upper, pairs = _collapse_keys(np.concatenate(keys), np.concatenate(weights))
    exits = whole + failures
    counts = Counts(
        lived / rate, exits[lived], entries[lived], failures[lived], lower / rate, upper / rate, pairs
    )
    return counts, np.concatenate(rest)


@dataclass(frozen=True)
class _Block:
    """What one step found: exits whole, exits failed and entries by cell; interval rows; rows left over."""

    totals: FloatArray
    keys: npt.NDArray[np.int64]
    weights: FloatArray
    rest: npt.NDArray[np.intp]


def _count_block(rows: LifeRows, start: int, rate: float, cells: int) -> _Block:
    part = slice(start, start + BLOCK)
    ages = (rows.lower[part], rows.upper[part], rows.entry[part])
    count = rows.count[part]
    low, high, came = (np.rint(age * rate) for age in ages)
    # Exact or not at all: the cell must give back the age to the last bit.
    held = (low / rate == ages[0]) & (high / rate == ages[1]) & (came / rate == ages[2])
    held &= (low < cells) & ((high < 2**BITS) | np.isinf(high))
    rest = np.empty(0, dtype=np.intp)
    if not held.all():
        rest = start + np.flatnonzero(~held)
        low, high, came, count = low[held], high[held], came[held], count[held]
    out = (low + cells * (low == high)).astype(np.intp)
    left = np.bincount(out, weights=count, minlength=2 * cells)
    entered = np.bincount(came.astype(np.intp), weights=count, minlength=cells)
    between = np.flatnonzero((low < high) & (high < np.inf))
    keys = (low[between] * 2**BITS + high[between]).astype(np.int64)
    return _Block(np.concatenate([left, entered]), keys, count[between], rest)


def _collapse_keys(
    keys: npt.NDArray[np.int64], weights: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Distinct (lower cell, upper cell) in ascending order and their counts."""
    low, width = keys >> BITS, (keys & (2**BITS - 1)) - (keys >> BITS)
    widest = int(width.max()) + 1 if len(keys) else 1
    places = (int(low.max()) + 1) * widest if len(keys) else 0
    if places <= MOST_PLACES:
        sums = np.bincount(low * widest + width, weights=weights, minlength=places).astype(float)
        distinct = np.flatnonzero(sums)
        low, width, sums = distinct // widest, distinct % widest, sums[distinct]
    else:
        distinct, place = np.unique(low * widest + width, return_inverse=True)
        sums = np.bincount(place, weights=weights).astype(float)
        low, width = distinct // widest, distinct % widest
    return low.astype(float), (low + width).astype(float), sums


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
