"""Exact factors of the characteristic function, worked out only at frequencies that are still alive.

A risk with outcomes is the factor 1 + p (phi - 1), with phi that of its one loss: competing end states exclude
one another. Equal risks are counted. Every factor has modulus at most 1, and |1 + p (phi - 1)|² <= 1 - 2 p (1 -
p) (1 - Re phi), so that one transform of p (1 - p) by loss bounds the modulus of the whole book: where that is
negligible nothing is worked out.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.kinds import BLOCK, Kinds, loss_transforms, placed_mass
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.series import REMAINDER, SMALL
from riskmodel.exposure.transforms import ComplexArray, Frequencies, transform

# A modulus below exp(-45) = 3e-20, times the points of the largest lattice, is below the last digit of a chance.
NEGLIGIBLE = 45.0


def alive(risks: Risks, spread: FloatArray, lattice: Lattice) -> Frequencies:
    """Frequencies (of the half that a real transform has) at which the book's modulus may be more than negligible.

    ``spread`` (n,): the least that each row's p (1 - p) can be.
    """
    return alive_under(placed_mass(risks, risks.times(spread), lattice))


def alive_under(spread: FloatArray) -> Frequencies:
    """The same from the (points,) sums by point of p (1 - p), or of less."""
    found = transform(spread).real
    return np.flatnonzero(found[0] - found <= NEGLIGIBLE)


def log_small(kinds: Kinds, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function of all the small chances of ``kinds``, by power sums for each distinct loss."""
    small = kinds.chance <= SMALL
    powers = odds_powers(kinds.chance[small], kinds.count[small], kinds.kind[small], len(kinds.losses.chance))
    total = np.zeros(len(frequencies), dtype=complex)
    for block, turned in loss_transforms(kinds, lattice, frequencies):
        summed = np.zeros_like(turned)
        for column in powers.T[::-1]:
            summed = (summed + column[block, None]) * turned
        total += (summed - powers[block].sum(axis=1)[:, None]).sum(axis=0)
    return total


def odds_powers(chance: FloatArray, count: FloatArray, kind: npt.NDArray[np.intp], kinds: int) -> FloatArray:
    """(kinds, orders) sums of (-1)^(j + 1) q^j / j over the risks of each distinct loss, q = p / (1 - p)."""
    odds = chance / (1.0 - chance)
    columns, order, power = [], 1, count * odds
    while order == 1 or float(power.sum()) > REMAINDER:
        columns.append(np.bincount(kind, power * ((1.0 if order % 2 else -1.0) / order), kinds))
        order, power = order + 1, power * odds
    return np.stack(columns, axis=1)


def large_factors(
    kinds: Kinds, lattice: Lattice, frequencies: Frequencies
) -> Iterator[tuple[ComplexArray, FloatArray]]:
    """Blocks of exact factors (c, f) of the chances above ``SMALL``, with how often each counts (c,)."""
    order = np.flatnonzero(kinds.chance > SMALL)
    order = order[np.argsort(kinds.kind[order], kind="stable")]
    for block, turned in loss_transforms(kinds, lattice, frequencies):
        first, last = np.searchsorted(kinds.kind[order], [block.start, block.stop])
        cells = order[first:last]
        size = max(1, BLOCK // max(len(frequencies), 1))
        for start in range(0, len(cells), size):
            some = cells[start : start + size]
            yield (
                1.0 + kinds.chance[some, None] * (turned[kinds.kind[some] - block.start] - 1.0),
                kinds.count[some],
            )
