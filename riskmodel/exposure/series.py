"""Small chances with one outcome each: their log characteristic function by power sums, two transforms for all.

With q = p / (1 - p), log(1 + p (phi - 1)) = log(1 - p) + sum over j of (-1)^(j + 1) q^j phi^j / j (the
coefficients of De Pril 1986). A loss at point k of which a share f stands one point higher has phi^j = w^(jk)
(1 + f (w - 1))^j, so the sums of q^j f^b are taken by point k, and stand at points jk to jk + b: the whole book is
one array of masses. Only for p up to ``SMALL``: at one half q is 1, and the series no longer converges.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from math import comb

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.kinds import add_placed
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.runs import Runs, order_of, runs_of
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# Largest chance that goes by power sums; q is then at most a ninth.
SMALL = 0.1
LARGEST_ODDS = SMALL / (1.0 - SMALL)
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


def log_of_small(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function of ``risks``, of one outcome each and chances up to ``SMALL``."""
    return log_beyond(first_order(risks, lattice), risks, lattice, frequencies)


def first_order(risks: Risks, lattice: Lattice) -> FloatArray:
    """(points,) odds by point: the first order of the series, which alone says where the book's function dies."""
    summed = np.zeros(lattice.points)
    for some in risks.blocks():
        add_placed(summed, some, some.times(some.chance / (1.0 - some.chance)), lattice.step)
    return summed


def log_beyond(first: FloatArray, risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function of risks whose ``first_order`` (points,) is known."""
    summed = first.copy()
    for index, mass in _higher_orders(risks, lattice, frequencies):
        add_at(summed, index, mass)
    found = transform(summed)
    # The whole is 0 at frequency 0.
    log: ComplexArray = found[frequencies] - found[0].real
    return log


def money_of_small(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) sum over risks of E[X exp(-i w X)] / E[exp(-i w X)]: the slope of the log characteristic function."""
    summed = np.zeros(lattice.points)
    for index, mass in chain(_first_orders(risks, lattice), _higher_orders(risks, lattice, frequencies)):
        add_at(summed, index, mass * index)
    slope: ComplexArray = lattice.step * transform(summed)[frequencies]
    return slope


def _standing(risks: Risks, step: float) -> Standing:
    placed = place(risks.loss[:, 0], step)
    order = order_of(placed.index)
    share = None if placed.exact else placed.share[order]
    chance = risks.chance[order]
    odds = chance / (1.0 - chance)
    mass = odds if risks.count is None else odds * risks.count[order]
    return Standing(placed.index[order], share, odds, mass)


def _first_orders(risks: Risks, lattice: Lattice) -> Iterator[tuple[IntArray, FloatArray]]:
    """Points and masses of the first order, all of it: it carries the mean."""
    for some in risks.blocks():
        stand = _standing(some, lattice.step)
        runs = runs_of(stand.index)
        sums = [runs.sums(stand.mass)]
        if stand.share is not None:
            sums.append(runs.sums(stand.mass * stand.share))
        yield _at_points(1, runs, sums)


def _higher_orders(
    risks: Risks, lattice: Lattice, frequencies: Frequencies
) -> Iterator[tuple[IntArray, FloatArray]]:
    """Points and masses of all other orders, as far as they matter at these frequencies."""
    reach = float(np.abs(roots(lattice, frequencies) - 1.0).max(initial=0.0))
    for some in risks.blocks():
        left = REMAINDER * len(some.chance) / len(risks.chance)
        yield from _orders_of(_standing(some, lattice.step), reach, left)


def _orders_of(some: Standing, reach: float, left: float) -> Iterator[tuple[IntArray, FloatArray]]:
    """The same for some of the book where |w - 1| is at most ``reach``; each order and power may leave out ``left``."""
    index, odds, share, mass = some.index, some.odds, some.share, some.mass * some.odds
    runs, order = runs_of(index), 2
    # Later orders add up to less than an eighth of this one.
    while float(mass.sum()) > left * order:
        yield _at_points(order, runs, _power_sums(order, runs, (mass, share), (reach, left * order)))
        order += 1
        mass *= odds
        kept = np.flatnonzero(mass > left / len(mass))
        if not len(kept):
            return
        # A copy of nearly all of them would cost more than it saves.
        if len(kept) < 0.8 * len(mass):
            index, odds, mass = index[kept], odds[kept], mass[kept]
            share = None if share is None else share[kept]
            runs = runs_of(index)


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
        most = max(comb(order, upper) * reach**upper for upper in range(len(sums), order + 1))
        if float(sums[-1].sum()) * most <= left:
            break
        mass = mass * share
        sums.append(runs.sums(mass))
    return sums


def _at_points(order: int, runs: Runs, sums: list[FloatArray]) -> tuple[IntArray, FloatArray]:
    """Points and masses of one order: each power of (w - 1) by its binomial, at ``order`` times a point and above."""
    sign = (1.0 if order % 2 else -1.0) / order
    uppers = range(len(sums))
    binomials = [
        [sign * comb(order, upper) * comb(upper, at) * (-1.0) ** (upper - at) for upper in uppers]
        for at in uppers
    ]
    index = runs.point * order + np.arange(len(sums))[:, None]
    return index.ravel(), (np.array(binomials) @ np.array(sums)).ravel()
