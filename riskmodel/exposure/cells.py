"""Small chances at many nodes at once: a sparse table of losses by point and cell, times the cells' odds at every node.

The sums of q^j by point are that table times the powers of the cells' odds, for all nodes in one product; after
it nothing depends on the number of risks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.runs import Runs, order_of, runs_of
from riskmodel.exposure.series import REMAINDER, log_of, reach_of
from riskmodel.exposure.splits import may_matter, split_powers
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at

# Numbers of a table of odds, or of masses by point and node, held at once.
BLOCK = 2**22


@dataclass(frozen=True, eq=False)
class CellTable:
    """Risks of one outcome in the order of their points: ``runs`` of them, and of each risk ``share``, cell and count.

    ``share`` (n,): how much of it stands one point higher, None where none has any; ``cell`` (n,), ``count`` (n,).
    """

    runs: Runs
    share: FloatArray | None
    cell: npt.NDArray[np.intp]
    count: FloatArray
    cells: int

    @cached_property
    def _tables(self) -> dict[int, Any]:
        return {}

    def table(self, upper: int) -> Any:
        """Sparse (points, cells) sums of count share**upper."""
        from scipy.sparse import csr_array

        if upper not in self._tables:
            mass = self.count if not upper or self.share is None else self.count * self.share**upper
            # A cell may stand in a row more than once: a product adds it up all the same.
            ends = np.append(self.runs.start, len(mass))
            self._tables[upper] = csr_array((mass, self.cell, ends), shape=(len(ends) - 1, self.cells))
        return self._tables[upper]


def cell_table(risks: Risks, cell: npt.NDArray[np.intp], cells: int, step: float) -> CellTable:
    """The table of risks of one outcome each."""
    placed = place(risks.loss[:, 0], step)
    order = order_of(placed.index)
    share = None if placed.exact else placed.share[order]
    count = risks.times(np.ones(len(cell)))
    return CellTable(runs_of(placed.index[order]), share, cell[order], count[order], cells)


def logs_at_nodes(
    table: CellTable, chance: FloatArray, lattice: Lattice, frequencies: Frequencies
) -> Iterator[ComplexArray]:
    """(f,) log characteristic function at each node in turn; ``chance`` (cells, z) up to ``series.SMALL``."""
    reach = reach_of(lattice, frequencies)
    size = max(1, BLOCK // max(len(chance), lattice.points))
    for start in range(0, chance.shape[1], size):
        odds = chance[:, start : start + size]
        summed = np.zeros((odds.shape[1], lattice.points))
        for index, masses in _series(table, odds / (1.0 - odds), reach):
            for by_point, mass in zip(summed, np.ascontiguousarray(masses.T), strict=True):
                add_at(by_point, index, mass)
        for by_point in summed:
            yield log_of(by_point, frequencies)


def _series(table: CellTable, odds: FloatArray, reach: float) -> Iterator[tuple[IntArray, FloatArray]]:
    """Points (m,) and masses (m, z) of order after order, as far as they matter where |w - 1| <= ``reach``."""
    order, power, largest = 1, odds, float(odds.max(initial=0.0))
    while True:
        sums = _power_sums(order, table, power, (reach, REMAINDER * order))
        index, masses = split_powers(order, table.runs.point, sums)
        yield index, masses * ((1.0 if order % 2 else -1.0) / order)
        order += 1
        # Orders from this one on add up to less than nine eighths of it.
        if _most(sums[0]) * largest <= REMAINDER * order:
            return
        power = power * odds


def _power_sums(
    order: int, table: CellTable, power: FloatArray, scope: tuple[float, float]
) -> list[FloatArray]:
    """For each power b of the share that matters the (r, z) sums of count q^j share**b (as series._power_sums)."""
    reach, left = scope
    sums = [table.table(0) @ power]
    while table.share is not None and len(sums) <= order:
        # The first order is kept whole, for it carries the mean.
        if order > 1 and may_matter(order, len(sums), _most(sums[-1]), reach) <= left:
            break
        sums.append(table.table(len(sums)) @ power)
    return sums


def _most(sums: FloatArray) -> float:
    """The largest total of the nodes."""
    return float(sums.sum(axis=0).max(initial=0.0))
