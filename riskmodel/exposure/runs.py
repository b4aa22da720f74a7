"""Sums by point of risks put in the order of their points: each is a run of neighbours, added up in one go.

A scatter of masses onto points costs several times what a run of neighbours does, and the series needs some twenty
sums by point of the same book.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray

# Keys of this many values are sorted by counting, in a time that grows with their number alone.
KEY_BITS = 16


@dataclass(frozen=True, eq=False)
class Runs:
    """Where runs of equal points start (r,) in an array in their order, and the ``point`` (r,) of each."""

    start: npt.NDArray[np.intp]
    point: IntArray

    def sums(self, values: FloatArray) -> FloatArray:
        """(r,) sums of values (n,) by run."""
        found: FloatArray = np.add.reduceat(values, self.start)
        return found


def runs_of(index: IntArray) -> Runs:
    """Runs of equal neighbours of ``index`` (n,)."""
    start = np.flatnonzero(np.append(np.ones(min(len(index), 1), dtype=bool), index[1:] != index[:-1]))
    return Runs(start, index[start])


def order_of(index: IntArray) -> npt.NDArray[np.intp]:
    """(n,) an order in which equal points of ``index`` (n,), 0 or more, are neighbours.

    By their last bits and then by those before, as far as there are any; points of more than twice ``KEY_BITS`` may
    stand in more than one run.
    """
    order = np.argsort(index.astype(np.uint16), kind="stable")
    if index.max(initial=0) >> KEY_BITS:
        before = (index >> KEY_BITS).astype(np.uint16)
        order = order[np.argsort(before[order], kind="stable")]
    return order
