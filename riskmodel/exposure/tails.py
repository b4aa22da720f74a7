"""Which boats and end states the mean of the worst years comes from: contributions that add up to it (Euler)."""

from __future__ import annotations

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.groups import (
    ONE_PROCESSOR,
    ComplexArray,
    Group,
    Part,
    boat_groups,
    draw_blocks,
    transforms,
)
from riskmodel.exposure.places import Places, Rows
from riskmodel.exposure.together import by_year, lone_rows, over_years, places_with_boats, times_boat
from riskmodel.exposure.years import Years

# A factor this near to nothing has taken the whole product with it: its share at that frequency is nothing too.
VANISHED = 1e-9
# A chance below one half by more than that.
LIKELY = 0.5 - 1e-6


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
    conditional expectation of Tasche 1999). One boat's transform is taken out of the product, at a place in each of its
    years, and put back with each loss times its own chance; the sum over totals is done at the frequencies (Parseval),
    so there is nothing to invert.
    """
    book, lattice = part.book, years.lattice
    points = lattice.points
    turned = np.fft.rfft(np.roll(weight, lattice.first % points))[years.frequencies]
    twice = np.where((years.frequencies == 0) | (2 * years.frequencies == points), 1.0, 2.0)
    base = years.spectrum * (np.conj(turned) * twice / points)
    found = np.zeros((book.rows, len(book.states)))
    for boat in lone_rows(part):
        for group in boat_groups(part, int(boat), lattice, years.frequencies):
            found[boat, list(group.states)] = _paid([(group, base)], years)
    for places, rows in places_with_boats(part):
        rest = _rest_by_year(part, (places, rows), years, base)
        for boat in rows:
            groups = boat_groups(part, int(boat), lattice, years.frequencies)
            same, struck = by_year(part, int(boat), groups)
            # What no spell touches is the same in every year of the place.
            for group in same:
                found[boat, list(group.states)] = _paid([(group, base)], years)
            for each in zip(*struck, strict=True):
                found[boat, list(each[0].states)] = _paid(list(zip(each, rest, strict=True)), years)
    return found * book.count[:, None]


def _paid(years_of_group: list[tuple[Group, ComplexArray]], years: Years) -> FloatArray:
    """(k,) E[loss in each end state of a group x weight], over draws and the years of its place.

    ``years_of_group``: the group as it is in each year, and the product (D, f) of everything then, with the group.
    """
    first = years_of_group[0][0]
    money = first.mass * np.arange(first.mass.shape[-1]) * years.lattice.step
    paid = np.conj(transforms(money, years.lattice, years.frequencies)).view(np.float64)
    summed = np.zeros(len(paid))
    for group, whole in years_of_group:
        for some in draw_blocks(*whole.shape):
            rest = _without(group, whole[some], some)
            summed += (group.sized[some] * inner_products(rest.view(np.float64), paid)).sum(axis=0)
    found: FloatArray = summed.reshape(len(first.states), -1).sum(axis=1) / len(years.spectrum)
    return found


def _without(group: Group, whole: ComplexArray, draws: slice) -> ComplexArray:
    """(d, f) a product without the factor of one group; 0 where that has taken the whole product with it."""
    factor = group.factor(draws)
    # A factor's modulus is at least 1 - 2 p: what is more likely not to happen never vanishes.
    if group.sized[draws].sum(axis=1).max() < LIKELY:
        return whole / factor
    return np.divide(whole, factor, out=np.zeros_like(factor), where=np.abs(factor) > VANISHED)


def _rest_by_year(part: Part, place: tuple[Places, Rows], years: Years, base: ComplexArray) -> ComplexArray:
    """(Y, D, f) share of each year of a place in the product ``base`` of the whole book: they add up to it."""
    places, rows = place
    each = np.ones((len(places.years), *base.shape), dtype=complex)
    for boat in rows:
        times_boat(each, [part], int(boat), years.lattice, years.frequencies)
    whole = over_years(places, each)
    each *= places.years[:, :, None]
    alive = np.abs(whole) > VANISHED * np.abs(each).max(axis=0)
    each *= np.divide(base, whole, out=np.zeros_like(base), where=alive)
    return each


def inner_products(left: FloatArray, right: FloatArray) -> FloatArray:
    """(d, k) of the rows of (d, m) and (k, m), in pieces that one processor does by itself."""
    width = max(ONE_PROCESSOR // max(len(left) * len(right), 1), 1)
    found = np.zeros((len(left), len(right)))
    for start in range(0, left.shape[1], width):
        piece = slice(start, start + width)
        found += left[:, piece] @ right[:, piece].T
    return found
