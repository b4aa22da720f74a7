"""Power sums of small chances that a scalar factor multiplies: taken once, and good at every node of the factor.

log(1 + s p (phi - 1)) = sum over j of (-1)^(j + 1) s^j p^j (phi - 1)^j / j: the sums M_j over the book of p^j
(phi - 1)^j do not know of s. The series needs s p |phi - 1| below 1, with |phi - 1| up to 2: it diverges for s
p above one half, and chances are never clipped to make it converge, for that would lose their mean. Here s p is
at most ``series.SMALL``.
"""

from __future__ import annotations

from math import comb

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.kinds import Kinds, loss_transforms
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# What may be left out of each order, for the whole book, at the largest factor.
ORDER_REMAINDER = 1e-14


def power_spectra(risks: Risks, lattice: Lattice, frequencies: Frequencies, largest: float) -> ComplexArray:
    """(orders, f) sums over risks of one outcome of p^j (phi - 1)^j, up to where s = ``largest`` needs them.

    Powers of p, and of the share f of a loss that stands one point higher, are summed by point first; what
    follows no longer depends on the number of risks.
    """
    turn = roots(lattice, frequencies) - 1.0
    placed = place(risks.loss[:, 0], lattice.step)
    reach = float(np.abs(turn).max(initial=0.0))
    # A risk's p (phi - 1) at the largest factor is at most this: far less than 2 p where its loss is a small one.
    size = largest * risks.chance * np.minimum((placed.index + 1) * reach, 2.0)
    cell, chance, share, power = placed.index, risks.chance, placed.share, risks.times(risks.chance)
    raised = risks.times(size)
    found: list[ComplexArray] = []
    while True:
        order = len(found) + 1
        bounds = float(power.sum()) * (2.0 * largest) ** order, float(raised.sum())
        sums = _sums_by_cell((cell, share, power), 1 if placed.exact else _uppers(order, bounds, reach))
        points = np.flatnonzero(sums[0])
        found.append(_order(order, points, [each[points] for each in sums], (lattice, frequencies, turn)))
        kept = raised * size > ORDER_REMAINDER / max(len(risks.chance), 1)
        if not kept.any():
            return np.array(found)
        cell, chance, share, power, size, raised = (
            each[kept] for each in (cell, chance, share, power * chance, size, raised * size)
        )


def _uppers(order: int, bounds: tuple[float, float], reach: float) -> int:
    """How many powers of (w - 1) of this order matter.

    The b-th is at most its binomial times the smaller of ``bounds``: of (2 s p)^j times (reach / 2)^b, of
    ``raised``.
    """
    doubled, raised = bounds
    each = [comb(order, upper) * min(doubled * (0.5 * reach) ** upper, raised) for upper in range(order + 1)]
    return max((upper for upper, size in enumerate(each) if size > ORDER_REMAINDER), default=0) + 1


def _sums_by_cell(risks: tuple[IntArray, FloatArray, FloatArray], uppers: int) -> list[FloatArray]:
    """For b = 0 … uppers - 1 the sums of p^j f^b by point, from point 0."""
    cell, share, power = risks
    sums = []
    for upper in range(uppers):
        if upper:
            power = power * share
        sums.append(np.bincount(cell, power).astype(float))
    return sums


def _order(
    order: int, points: IntArray, sums: list[FloatArray], grid: tuple[Lattice, Frequencies, ComplexArray]
) -> ComplexArray:
    """(f,) the sum of p^j (w^k (1 + f (w - 1)) - 1)^j by the binomials of both powers."""
    lattice, frequencies, turn = grid
    total = np.zeros(len(frequencies), dtype=complex)
    for upper, by_cell in enumerate(sums):
        summed = np.zeros(lattice.points)
        for losses in range(upper, order + 1):
            factor = comb(order, losses) * comb(losses, upper) * (-1.0) ** (order - losses)
            if losses == 0:
                summed[0] += factor * by_cell.sum()
            else:
                add_at(summed, points * losses, factor * by_cell)
        total += turn**upper * transform(summed)[frequencies]
    return total


def kind_power_spectra(
    kinds: Kinds, lattice: Lattice, frequencies: Frequencies, largest: float
) -> ComplexArray:
    """(orders, f) the same for risks grouped by their distinct losses."""
    powers: list[FloatArray] = []
    power = kinds.count * kinds.chance
    while not powers or float(power.sum()) * (2.0 * largest) ** (len(powers) + 1) > ORDER_REMAINDER:
        powers.append(np.bincount(kinds.kind, power, len(kinds.losses.chance)).astype(float))
        power = power * kinds.chance
    found = np.zeros((len(powers), len(frequencies)), dtype=complex)
    for block, turned in loss_transforms(kinds, lattice, frequencies):
        away = turned - 1.0
        raised = np.ones_like(away)
        for order, sums in enumerate(powers):
            raised = raised * away
            found[order] += sums[block] @ raised
    return found
