"""Which boats and end states the mean of the worst years comes from: contributions that add up to it (Euler)."""

from __future__ import annotations

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.years import ONE_PROCESSOR, Part, Years, boat_groups, draw_blocks, transforms

# A factor this near to nothing has taken the whole product with it: its share at that frequency is nothing too.
VANISHED = 1e-9


def worst_years(total: LossDistribution, probability: float) -> FloatArray:
    """(points,) weight of each total in the mean of the worst 1 - ``probability`` of years: ``pmf`` @ (weight x loss)
    is ``tail_mean``. Of the years at the quantile itself only as many count as are needed."""
    quantile = float(total.quantile(probability))
    above = total.losses > quantile + 0.5 * total.step
    at = ~above & (total.losses > quantile - 0.5 * total.step)
    left = 1.0 - probability - float(total.pmf[above].sum())
    here = float(total.pmf[at].sum())
    return (above + at * (left / here if here > 0 else 0.0)) / (1.0 - probability)


def contributions(part: Part, years: Years, weight: FloatArray) -> FloatArray:
    """(n, K) E[loss of a row's boats in an end state x weight(total)] over all draws [currency].

    ``weight`` (points,) by total: 1 everywhere gives mean losses, ``worst_years`` their shares of the tail mean (the
    conditional expectation of Tasche 1999). One boat's transform is taken out of the product and put back with each
    loss times its own chance; the sum over totals is done at the frequencies (Parseval), so there is nothing to invert.
    """
    book, lattice = part.book, years.lattice
    points = lattice.points
    turned = np.fft.rfft(np.roll(weight, lattice.first % points))[years.frequencies]
    twice = np.where((years.frequencies == 0) | (2 * years.frequencies == points), 1.0, 2.0)
    base = years.spectrum * (np.conj(turned) * twice / points)
    found = np.zeros((book.rows, len(book.states)))
    for boat in range(book.rows):
        for group in boat_groups(part, boat, lattice, years.frequencies):
            money = group.mass * np.arange(group.mass.shape[-1]) * lattice.step
            paid = np.conj(transforms(money, lattice, years.frequencies)).view(np.float64)
            summed = np.zeros(len(paid))
            for some in draw_blocks(*base.shape):
                factor = group.factor(some)
                alive = np.abs(factor) > VANISHED
                rest = np.divide(base[some], factor, out=np.zeros_like(factor), where=alive)
                summed += (group.sized[some] * inner_products(rest.view(np.float64), paid)).sum(axis=0)
            found[boat, list(group.states)] = summed.reshape(len(group.states), -1).sum(axis=1) / len(base)
    return found * book.count[:, None]


def inner_products(left: FloatArray, right: FloatArray) -> FloatArray:
    """(d, k) of the rows of (d, m) and (k, m), in pieces that one processor does by itself."""
    width = max(ONE_PROCESSOR // max(len(left) * len(right), 1), 1)
    found = np.zeros((len(left), len(right)))
    for start in range(0, left.shape[1], width):
        piece = slice(start, start + width)
        found += left[:, piece] @ right[:, piece].T
    return found
