"""Small chances with one outcome each: their log characteristic function by power sums, a few transforms for all.

With q = p / (1 - p), log(1 + p (phi - 1)) = log(1 - p) + sum over j of (-1)^(j + 1) q^j phi^j / j (the
coefficients of De Pril 1986). A loss at point k of which a share f stands one point higher has phi^j = w^(jk)
(1 + f (w - 1))^j, so the sums of q^j f^b are taken by point jk, and the whole book is one array for each power
b of (w - 1): one only where losses stand on points. Only for p up to ``SMALL``: at one half q is 1, and the
series no longer converges.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import comb

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray, Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.transforms import ComplexArray, Frequencies, add_at, roots, transform

# Largest chance that goes by power sums; q is then at most a ninth.
SMALL = 0.1
LARGEST_ODDS = SMALL / (1.0 - SMALL)
# What may be left of the series of the whole book's log characteristic function, for each order and power.
REMAINDER = 1e-14
# At most 20 orders matter at ``SMALL``, each with few powers; what they leave out counts twice, with an eighth on top.
SERIES_ERROR = 1e-12
# Risks worked through at a time: their arrays then stay in a processor's cache.
CHUNK = 2**16


@dataclass(frozen=True, eq=False)
class Terms:
    """Terms of one order: points ``index`` (n,) and ``factor`` times masses ``mass`` (n,), for (w - 1)**``upper``."""

    upper: int
    index: IntArray
    mass: FloatArray
    factor: float


def log_of_small(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) log characteristic function of ``risks``, of one outcome each and chances up to ``SMALL``."""
    turn = roots(lattice, frequencies) - 1.0
    log = np.zeros(len(frequencies), dtype=complex)
    for upper, summed in _summed(risks, lattice, _reach(turn)).items():
        found = transform(summed)
        # What has no (w - 1) is counted from its value at frequency 0, where the whole is 0.
        log += found[frequencies] - found[0].real if upper == 0 else turn**upper * found[frequencies]
    return log


def money_of_small(risks: Risks, lattice: Lattice, frequencies: Frequencies) -> ComplexArray:
    """(f,) sum over risks of E[X exp(-i w X)] / E[exp(-i w X)]: the slope of the log characteristic function."""
    root = roots(lattice, frequencies)
    turn = root - 1.0
    slope = np.zeros(len(frequencies), dtype=complex)
    for upper, moved in _summed(risks, lattice, _reach(turn), power=1).items():
        slope += turn**upper * transform(moved)[frequencies]
    for upper, summed in _summed(risks, lattice, _reach(turn)).items():
        if upper:
            slope += upper * root * turn ** (upper - 1) * transform(summed)[frequencies]
    slope *= lattice.step
    return slope


def _summed(risks: Risks, lattice: Lattice, reach: float, power: int = 0) -> dict[int, FloatArray]:
    """For each power of (w - 1) the (points,) masses by point, times point**power."""
    found: dict[int, FloatArray] = {}
    number = risks.total(np.ones(len(risks.chance)))
    for start in range(0, len(risks.chance), CHUNK):
        some = risks.take(np.s_[start : start + CHUNK])
        for terms in series_terms(some, lattice.step, (reach, number)):
            if terms.upper not in found:
                found[terms.upper] = np.zeros(lattice.points)
            mass = terms.mass * terms.index**power if power else terms.mass
            add_at(found[terms.upper], terms.index, mass, terms.factor)
    return found


def series_terms(risks: Risks, step: float, scope: tuple[float, float]) -> Iterator[Terms]:
    """The series, power by power of (w - 1) and order by order, as far as it matters.

    ``scope``: the largest |w - 1|, and the number of risks that share what may be left out.
    """
    reach, number = scope
    odds = risks.chance / (1.0 - risks.chance)
    placed = place(risks.loss[:, 0], step)
    index, share, mass = placed.index, placed.share, risks.times(np.ones(len(odds)))
    least = REMAINDER / max(number, 1.0)
    upper = 0
    while len(odds):
        yield from _orders(upper, (index, odds, mass), least / reach**upper)
        if placed.exact:
            return
        mass = mass * odds * share
        upper += 1
        kept = mass > least / reach**upper
        index, share, odds, mass = index[kept], share[kept], odds[kept], mass[kept]
        # Every order of any power is at least q**power: the series ends where that is nothing.
        if float(mass.sum()) * reach**upper * 2.0**upper < least:
            return


def _orders(upper: int, risks: tuple[IntArray, FloatArray, FloatArray], least: float) -> Iterator[Terms]:
    """Orders from ``upper`` on; masses come as q**upper f**upper, and are left out below ``least``."""
    index, odds, mass = risks
    order = max(upper, 1)
    if upper == 0:
        mass = mass * odds
    while len(mass):
        factor = comb(order, upper) * (1.0 if order % 2 else -1.0) / order
        if float(mass.sum()) * abs(factor) > least:
            yield Terms(upper, index * order if order > 1 else index, mass, factor)
        order += 1
        mass = mass * odds
        # From here on each order is smaller than the one before it, even times its binomial.
        if order * LARGEST_ODDS < order - upper:
            kept = np.flatnonzero(mass > least / comb(order, upper))
            # A copy of nearly all of them would cost more than it saves.
            if len(kept) < 0.8 * len(mass):
                index, odds, mass = index[kept], odds[kept], mass[kept]


def _reach(turn: ComplexArray) -> float:
    """The largest |w - 1|, and not quite 0 where there is only frequency 0."""
    return max(float(np.abs(turn).max(initial=0.0)), 1e-6)
