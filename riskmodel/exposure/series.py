"""Small chances with one outcome each: their log characteristic function by power sums, two transforms for all.

With q = p / (1 - p), log(1 + p (phi - 1)) = log(1 - p) + sum over j of (-1)^(j + 1) q^j phi^j / j (the
coefficients of De Pril 1986). A loss at point k of which a share f stands one point higher has phi^j = w^(jk)
(1 + f (w - 1))^j, so the sums of q^j f^b are taken by point k, and stand at points jk to jk + b: the whole book is
one array of masses. Only for p up to ``SMALL``: at one half q is 1, and the series no longer converges.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.runs import Runs, order_of, runs_of
from riskmodel.exposure.splits import may_matter, split_powers
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# Largest chance that goes by power sums; q is then at most a ninth.
SMALL = 0.1
# What may be left of the series of the whole book's log characteristic function, for each order and power.
REMAINDER = 1e-14
# At most 20 orders matter at ``SMALL``, each with few powers; what they leave out counts twice, with an eighth on top.
SERIES_ERROR = 1e-12


@dataclass(frozen=True, eq=False)
class Standing:
    """Risks in the order of their points ``index`` (n,): ``share`` (n,) one point higher, None where none has any.

    ``odds`` (n,); ``mass`` (n,): odds times how many equal risks each is.
    """

    index: IntArray
    share: FloatArray | None
    odds: FloatArray
    mass: FloatArray


@dataclass(frozen=True, eq=False)
class Terms:
    """Masses ``mass`` (m,) of one order of the series, at points ``index`` (m,); ``split``: of losses off them."""

    order: int
    index: IntArray
    mass: FloatArray
    split: bool


@dataclass(frozen=True, eq=False)
class OrderSums:
    """Sums by point (points,) of the ``first`` order, which are odds, and of all ``higher`` ones.

    ``split``: some losses stand between points, so that the sums are good up to one |w - 1| only.
    """

    first: FloatArray
    higher: FloatArray
    split: bool


def log_of_small(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function of ``risks``, of one outcome each and chances up to ``SMALL``."""
    return log_at(order_sums(risks, lattice, reach_of(lattice, frequencies)), frequencies)


def log_at(sums: OrderSums, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function from all orders' sums."""
    return log_of(sums.first + sums.higher, frequencies)


def log_of(summed: FloatArray, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function from its masses by point (points,)."""
    found = transform(summed)
    # The whole is 0 at frequency 0.
    log: ComplexArray = found[frequencies] - found[0].real
    return log


def order_sums(risks: Risks, lattice: Lattice, reach: float) -> OrderSums:
    """The series by point, good where |w - 1| is at most ``reach``."""
    first, higher, split = np.zeros(lattice.points), np.zeros(lattice.points), False
    for terms in _series(risks, lattice, reach):
        add_at(first if terms.order == 1 else higher, terms.index, terms.mass)
        split = split or terms.split
    return OrderSums(first, higher, split)


def money_of_small(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) sum over risks of E[X exp(-i w X)] / E[exp(-i w X)]: the slope of the log characteristic function."""
    summed = np.zeros(lattice.points)
    for terms in _series(risks, lattice, reach_of(lattice, frequencies)):
        add_at(summed, terms.index, terms.mass * terms.index)
    slope: ComplexArray = lattice.step * transform(summed)[frequencies]
    return slope


def reach_of(lattice: Lattice, frequencies: Frequencies) -> float:
    """The largest |w - 1| at these frequencies."""
    return float(np.abs(roots(lattice, frequencies) - 1.0).max(initial=0.0))


def _series(risks: Risks, lattice: Lattice, reach: float) -> Iterator[Terms]:
    """The whole series, as far as it matters where |w - 1| is at most ``reach``."""
    for some in risks.blocks():
        left = REMAINDER * len(some.chance) / len(risks.chance)
        yield from _orders(_standing(some, lattice.step), reach, left)


def _standing(risks: Risks, step: float) -> Standing:
    placed = place(risks.loss[:, 0], step)
    order = order_of(placed.index)
    share = None if placed.exact else placed.share[order]
    chance = risks.chance[order]
    odds = chance / (1.0 - chance)
    mass = odds if risks.count is None else odds * risks.count[order]
    return Standing(placed.index[order], share, odds, mass)


def _orders(some: Standing, reach: float, left: float) -> Iterator[Terms]:
    """The series of some of the book, of which each order and power of (w - 1) may leave out ``left``."""
    index, odds, share, mass = some.index, some.odds, some.share, some.mass
    runs, order, largest = runs_of(index), 1, float(odds.max())
    while True:
        sums = _power_sums(order, runs, (mass, share), (reach, left * order))
        points, masses = split_powers(order, runs.point, sums)
        yield Terms(order, points, masses * ((1.0 if order % 2 else -1.0) / order), share is not None)
        order += 1
        # Orders from this one on add up to less than nine eighths of it.
        if float(sums[0].sum()) * largest <= left * order:
            return
        mass = mass * odds
        # A copy of most of them would cost more than it saves.
        if _most_matter(mass, left / len(mass)):
            continue
        kept = np.flatnonzero(mass > left / len(mass))
        if not len(kept):
            return
        index, odds, mass = index[kept], odds[kept], mass[kept]
        share = None if share is None else share[kept]
        runs = runs_of(index)


def _most_matter(mass: FloatArray, least: float) -> bool:
    """Whether masses above ``least`` are more than half, as every sixteenth tells."""
    some = mass[::16]
    return int(np.count_nonzero(some > least)) > 0.5 * len(some)


def _power_sums(
    order: int, runs: Runs, risks: tuple[FloatArray, FloatArray | None], scope: tuple[float, float]
) -> list[FloatArray]:
    """For each power b of the share that matters the (r,) sums of masses times share**b.

    ``scope``: the largest |w - 1|, and what may be left out of C(order, b) share**b (w - 1)**b.
    """
    mass, share = risks
    reach, left = scope
    sums = [runs.sums(mass)]
    while share is not None and len(sums) <= order:
        # The first order is kept whole, for it carries the mean.
        if order > 1 and may_matter(order, len(sums), float(sums[-1].sum()), reach) <= left:
            break
        mass = mass * share
        sums.append(runs.sums(mass))
    return sums
