"""Risks grouped by what they may lose, and the transforms of those losses at the frequencies that matter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray, Lattice, Placed, place
from riskmodel.exposure.risks import Risks, blocks
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# Complex numbers held at once.
BLOCK = 2**17


@dataclass(frozen=True, eq=False)
class Kinds:
    """Risks grouped: distinct losses as placed rows (d, k), and which of them each distinct risk has.

    ``chance`` (c,), ``count`` (c,) and ``kind`` (c,) (a row of ``losses``).
    """

    losses: Risks
    placed: Placed
    chance: FloatArray
    count: FloatArray
    kind: npt.NDArray[np.intp]


def kinds_of(risks: Risks, lattice: Lattice) -> Kinds:
    """Equal risks together, and those with equal losses beside each other."""
    first, kind = distinct_rows(*_loss_tables(risks))
    losses = risks.take(first)
    each, cell = distinct_rows(risks.chance[:, None], kind[:, None].astype(float))
    count = np.bincount(cell, risks.count, len(each)).astype(float)
    return Kinds(losses, place(losses.loss, lattice.step), risks.chance[each], count, kind[each])


def grouped(risks: Risks, cell: npt.NDArray[np.intp]) -> tuple[Risks, npt.NDArray[np.intp]]:
    """Risks of one cell with equal losses together, counted, and the cell of each group."""
    if not len(cell):
        return risks, cell
    first, which = distinct_rows(cell[:, None].astype(float), *_loss_tables(risks))
    some = risks.take(first)
    count = np.bincount(which, risks.count, len(first)).astype(float)
    return Risks(some.chance, some.loss, some.weight, count), cell[first]


def distinct_rows(*tables: FloatArray) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """First position (d,) of each distinct row of ``tables`` (n, …) side by side, and which each row is (n,)."""
    # Rows told apart by one number: any weights without a common measure do, and the outcome is verified.
    mixed = np.zeros(len(tables[0]))
    for number, table in enumerate(tables):
        mixed += table @ np.sqrt(2.0 + number + np.arange(table.shape[1]))
    _, first, which = np.unique(mixed, return_index=True, return_inverse=True)
    if all(np.array_equal(table[first][which], table) for table in tables):
        return first, which
    _, first, which = np.unique(np.hstack(tables), axis=0, return_index=True, return_inverse=True)
    return first, which.ravel()


def _loss_tables(risks: Risks) -> tuple[FloatArray, ...]:
    return (risks.loss,) if risks.single else (risks.loss, risks.weight)


def placed_mass(risks: Risks, mass: FloatArray, lattice: Lattice) -> FloatArray:
    """(points,) masses (n,) of risks spread over their outcomes and summed by point of the lattice."""
    summed = np.zeros(lattice.points)
    for rows in blocks(len(mass)):
        some = risks.take(rows)
        placed = place(some.loss, lattice.step)
        shares = mass[rows, None] * some.weight
        upper = shares * placed.share
        add_at(summed, placed.index.ravel(), (shares if placed.exact else shares - upper).ravel())
        if not placed.exact:
            add_at(summed, (placed.index + 1).ravel(), upper.ravel())
    return summed


def loss_transforms(
    kinds: Kinds, lattice: Lattice, frequencies: Frequencies, *, power: int = 0
) -> Iterator[tuple[slice, ComplexArray]]:
    """Blocks of rows of ``kinds`` and their transforms E[X**power exp(-i w X)] (rows, frequencies), power 0 or 1.

    Outcome by outcome at each frequency, or by a transform of the whole lattice where there are more outcomes
    than that is worth.
    """
    rows, outcomes = kinds.placed.index.shape
    whole = outcomes * len(frequencies) > lattice.points * lattice.points.bit_length()
    step = max(1, BLOCK // max(len(frequencies), 1))
    table = roots(lattice, np.arange(lattice.points))
    for start in range(0, rows, step):
        block = slice(start, min(start + step, rows))
        masses = _split(kinds, block, lattice.step, power)
        if whole:
            yield block, _by_transform(masses, kinds.placed.index[block], lattice)[:, frequencies]
        else:
            yield block, _by_roots(masses, kinds.placed.index[block], (table, frequencies))


def _split(kinds: Kinds, block: slice, step: float, power: int) -> FloatArray:
    """(rows, 2, outcomes) masses, times money**power, at the lower and at the upper point."""
    index, share, weight = kinds.placed.index[block], kinds.placed.share[block], kinds.losses.weight[block]
    lower, upper = weight * (1.0 - share), weight * share
    if power:
        lower, upper = lower * index * step, upper * (index + 1) * step
    return np.stack([lower, upper], axis=1)


def _by_transform(masses: FloatArray, index: IntArray, lattice: Lattice) -> ComplexArray:
    found = []
    for (lower, upper), point in zip(masses, index, strict=True):
        summed = np.zeros(lattice.points)
        add_at(summed, point, lower)
        add_at(summed, point + 1, upper)
        found.append(transform(summed))
    return np.array(found)


def _by_roots(masses: FloatArray, index: IntArray, grid: tuple[ComplexArray, Frequencies]) -> ComplexArray:
    table, frequencies = grid
    lower = np.zeros((len(index), len(frequencies)), dtype=complex)
    upper, split = np.zeros_like(lower), bool(masses[:, 1].any())
    for outcome, points in enumerate(index.T):
        turned = table[(points[:, None] * frequencies) & (len(table) - 1)]
        lower += masses[:, 0, outcome, None] * turned
        if split:
            upper += masses[:, 1, outcome, None] * turned
    return lower + upper * table[frequencies] if split else lower
