"""Power sums of small chances that a scalar factor multiplies: taken once, and good at every node of the factor.

log(1 + s p (phi - 1)) = sum over j of (-1)^(j + 1) s^j p^j (phi - 1)^j / j: the sums M_j over the book of p^j
(phi - 1)^j do not know of s. The series needs s p |phi - 1| below 1, with |phi - 1| up to 2: it diverges for s
p above one half, and chances are never clipped to make it converge, for that would lose their mean. Here s p is
at most ``series.SMALL``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import comb

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.kinds import Kinds, loss_transforms
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.runs import Runs, order_of, runs_of
from riskmodel.exposure.splits import split_powers
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# What may be left out of each order, for the whole book, at the largest factor.
ORDER_REMAINDER = 1e-14


def power_spectra(risks: Risks, lattice: Lattice, frequencies: Frequencies, largest: float) -> ComplexArray:
    """(orders, f) sums over risks of one outcome of p^j (phi - 1)^j, up to where s = ``largest`` needs them.

    Powers of p, and of the share f of a loss that stands one point higher, are summed by point first; what
    follows no longer depends on the number of risks.
    """
    reach = float(np.abs(roots(lattice, frequencies) - 1.0).max(initial=0.0))
    least = ORDER_REMAINDER / max(len(risks.chance), 1)
    some = _standing(risks, lattice.step, largest, reach)
    found: list[ComplexArray] = []
    while True:
        order, runs = len(found) + 1, runs_of(some.index)
        sums = _sums_by_run(some, runs, 1 if some.share is None else _uppers(order, some, largest, reach))
        found.append(_order(order, runs.point, sums, lattice)[frequencies])
        some = some.raised()
        kept = some.bound > least
        if not kept.any():
            return np.array(found)
        # A copy of nearly all of them would cost more than it saves.
        if np.count_nonzero(kept) < 0.8 * len(kept):
            some = some.take(kept)


@dataclass(frozen=True, eq=False)
class _Raised:
    """Risks in the order of their points: ``power`` p^j times counts, and its ``bound`` with |phi - 1| at most.

    ``size``: what the next order multiplies the bound by. ``share``: None where all stand on points.
    """

    index: IntArray
    share: FloatArray | None
    chance: FloatArray
    size: FloatArray
    power: FloatArray
    bound: FloatArray

    def raised(self) -> _Raised:
        """The next order."""
        return replace(self, power=self.power * self.chance, bound=self.bound * self.size)

    def take(self, kept: npt.NDArray[np.bool_]) -> _Raised:
        """Some of them."""
        share = None if self.share is None else self.share[kept]
        rest = (self.chance, self.size, self.power, self.bound)
        return _Raised(self.index[kept], share, *(each[kept] for each in rest))


def _standing(risks: Risks, step: float, largest: float, reach: float) -> _Raised:
    placed = place(risks.loss[:, 0], step)
    order = order_of(placed.index)
    index, chance = placed.index[order], risks.chance[order]
    # A risk's p (phi - 1) at the largest factor is at most this: far less than 2 p where its loss is a small one.
    size = largest * chance * np.minimum((index + 1) * reach, 2.0)
    power, bound = (each if risks.count is None else each * risks.count[order] for each in (chance, size))
    return _Raised(index, None if placed.exact else placed.share[order], chance, size, power, bound)


def _uppers(order: int, some: _Raised, largest: float, reach: float) -> int:
    """How many powers of (w - 1) of this order matter.

    The b-th is at most its binomial times the smaller of two bounds: (2 s p)^j times (reach / 2)^b, and that of
    (phi - 1)^j.
    """
    doubled, raised = float(some.power.sum()) * (2.0 * largest) ** order, float(some.bound.sum())
    each = [comb(order, upper) * min(doubled * (0.5 * reach) ** upper, raised) for upper in range(order + 1)]
    return max((upper for upper, size in enumerate(each) if size > ORDER_REMAINDER), default=0) + 1


def _sums_by_run(some: _Raised, runs: Runs, uppers: int) -> list[FloatArray]:
    """For b = 0 … uppers - 1 the (r,) sums of p^j f^b by point."""
    power, sums = some.power, []
    for upper in range(uppers):
        if upper and some.share is not None:
            power = power * some.share
        sums.append(runs.sums(power))
    return sums


def _order(order: int, point: IntArray, sums: list[FloatArray], lattice: Lattice) -> ComplexArray:
    """The sum of p^j (phi - 1)^j, by the binomials of both powers, at every frequency."""
    summed = np.zeros(lattice.points)
    summed[0] = (-1.0) ** order * sums[0].sum()
    for losses in range(1, order + 1):
        index, mass = split_powers(losses, point, sums)
        add_at(summed, index, mass, comb(order, losses) * (-1.0) ** (order - losses))
    return transform(summed)


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
