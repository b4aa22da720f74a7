"""Small chances at many nodes at once: a sparse table of losses by point and cell, times the cells' odds at every node.

The sums of q^j by point are that table times the powers of the cells' odds, for all nodes in one product; after
it nothing depends on the number of risks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import comb
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.series import LARGEST_ODDS, REMAINDER
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# Numbers of a table of odds, or of masses by point and node, held at once.
BLOCK = 2**23


@dataclass(frozen=True, eq=False)
class CellTable:
    """Risks of one outcome by point and cell: ``points`` (k,); for each risk its row, share, cell and count (n,)."""

    points: IntArray
    row: npt.NDArray[np.intp]
    share: FloatArray
    cell: npt.NDArray[np.intp]
    count: FloatArray
    cells: int
    exact: bool

    @cached_property
    def _tables(self) -> dict[int, Any]:
        return {}

    def table(self, upper: int) -> Any:
        """Sparse (points, cells) sums of count share**upper."""
        from scipy.sparse import coo_array

        if upper not in self._tables:
            mass = self.count * self.share**upper if upper else self.count
            shape = (len(self.points), self.cells)
            self._tables[upper] = coo_array((mass, (self.row, self.cell)), shape=shape).tocsr()
        return self._tables[upper]


def cell_table(risks: Risks, cell: npt.NDArray[np.intp], cells: int, step: float) -> CellTable:
    """The table of risks of one outcome each."""
    placed = place(risks.loss[:, 0], step)
    points, row = np.unique(placed.index, return_inverse=True)
    count = risks.times(np.ones(len(cell)))
    return CellTable(points, row, placed.share, cell, count, cells, placed.exact)


def logs_at_nodes(
    table: CellTable, chance: FloatArray, lattice: Lattice, frequencies: Frequencies
) -> Iterator[ComplexArray]:
    """(f,) log characteristic function at each node in turn; ``chance`` (cells, z) up to ``series.SMALL``."""
    turn = roots(lattice, frequencies) - 1.0
    wide = max(len(chance), lattice.points)
    size = max(1, BLOCK // wide)
    for start in range(0, chance.shape[1], size):
        odds = chance[:, start : start + size]
        odds = odds / (1.0 - odds)
        log = np.zeros((odds.shape[1], len(frequencies)), dtype=complex)
        for upper, summed in _summed(table, odds, lattice, float(np.abs(turn).max(initial=0.0))):
            for node, masses in enumerate(summed):
                found = transform(masses)
                log[node] += turn**upper * found[frequencies] if upper else found[frequencies] - found[0].real
        yield from log


def _summed(
    table: CellTable, odds: FloatArray, lattice: Lattice, reach: float
) -> Iterator[tuple[int, FloatArray]]:
    """For each power of (w - 1) the (z, points) sums, as far as it matters (series)."""
    upper, largest = 0, float(odds.max(initial=0.0))
    number = float(table.count.sum())
    while upper == 0 or (not table.exact and number * (2.0 * largest * reach) ** upper > REMAINDER):
        summed = np.zeros((odds.shape[1], lattice.points))
        order = max(upper, 1)
        power = odds**order
        while True:
            by_point = table.table(upper) @ power
            factor = comb(order, upper) * (1.0 if order % 2 else -1.0) / order
            if float(by_point.sum(axis=0).max()) * abs(factor) * reach**upper < REMAINDER and (
                order * LARGEST_ODDS < order - upper
            ):
                break
            for node, masses in enumerate(np.ascontiguousarray(by_point.T)):
                add_at(summed[node], table.points * order, masses * factor)
            order, power = order + 1, power * odds
        yield upper, summed
        upper += 1
