"""The year's largest single loss of a book, draw by draw, as finely where losses are small as where they are large."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, fraction, not_negative
from riskmodel.exposure.distribution import ROUNDING
from riskmodel.exposure.groups import Part, by_blocks
from riskmodel.exposure.together import lone_rows, places_with_boats, sized_in_years

# Amounts at which it is worked out: so many, each a fixed factor (0.9 %) above the one below, and nothing below this
# share of the largest.
POINTS, SMALLEST = 1500, 2.0**-20
# Where so few amounts are the most that a boat's loss comes to, chances jump there, and both sides are worked out.
FEW_ENDS, BESIDE = 100, 1e-9


@dataclass(frozen=True, eq=False)
class YearsLargest:
    """P(the year's largest single loss is at most each of ``amounts`` (m,)) by draw, ``upto`` (D, m).

    Exact at the amounts, which rise from 0 [currency]; between two of them in a straight line.
    """

    amounts: FloatArray
    upto: FloatArray

    @cached_property
    def _mixed(self) -> FloatArray:
        found: FloatArray = self.upto.mean(axis=0)
        return found

    def exceedance(self, x: npt.ArrayLike) -> FloatArray:
        """P(the largest loss of the year > x) over all draws, x [currency] of any shape, 0 or more."""
        found: FloatArray = 1.0 - np.interp(not_negative("x", x), self.amounts, self._mixed, right=1.0)
        return found[()]

    def quantile(self, probability: npt.ArrayLike) -> FloatArray:
        """The least loss that the year's largest does not exceed with ``probability``, over all draws [currency]."""
        return _least(self.amounts, self._mixed, fraction("probability", probability))[()]

    def drawn_quantiles(self, probability: FloatArray) -> FloatArray:
        """(D, p) the same draw by draw."""
        return np.array([_least(self.amounts, each, probability) for each in self.upto])


def largest_of(part: Part) -> YearsLargest:
    """The largest single loss of the year: boats are independent given a draw and the year of their place."""
    most = part.book.severity.payouts(part.cover).most
    amounts = _amounts(most)
    upto = np.ones((part.book.chance.shape[2], len(amounts)))
    for boat in lone_rows(part):
        upto *= _none_above(part, int(boat), part.sized(boat), amounts)
    for places, rows in places_with_boats(part):
        each = np.ones((len(places.years), *upto.shape))
        for boat in rows:
            sized = sized_in_years(part, int(boat))
            each *= _none_above(part, int(boat), sized, amounts).reshape(each.shape)
        upto *= np.einsum("yd,yda->da", places.years, each)
    return YearsLargest(amounts, np.clip(upto, 0.0, 1.0))


def _amounts(most: FloatArray) -> FloatArray:
    largest = float(most.max())
    if largest <= 0:
        return np.zeros(1)
    amounts = np.concatenate([[0.0], np.geomspace(SMALLEST * largest, largest, POINTS)])
    ends = np.unique(most[most > 0])
    if len(ends) > FEW_ENDS:
        return amounts
    found: FloatArray = np.unique(np.concatenate([amounts, ends, (1.0 - BESIDE) * ends]))
    return found


def _none_above(part: Part, boat: int, sized: FloatArray, amounts: FloatArray) -> FloatArray:
    """(D, m) chance that no loss of a row's boats is above each amount, with chances ``sized`` (D, K, SIZES)."""
    above = part.payouts(boat).spread().exceedance(amounts)
    found: FloatArray = np.ones((len(sized), len(amounts)))
    for group in part.book.groups:
        states = list(group)
        chance = sized[:, states].reshape(len(sized), -1)
        found *= 1.0 - by_blocks(chance, above[states].reshape(-1, len(amounts)))
    count = part.book.count[boat]
    return found if count == 1.0 else found**count


def _least(amounts: FloatArray, upto: FloatArray, probability: FloatArray) -> FloatArray:
    """The least amounts with these chances of no more, ``upto`` (m,) rising."""
    place = np.minimum(np.searchsorted(upto, probability - ROUNDING), len(amounts) - 1)
    below = np.maximum(place - 1, 0)
    gap = upto[place] - upto[below]
    part = np.divide(probability - upto[below], gap, out=np.ones_like(gap), where=gap > 0)
    found: FloatArray = amounts[below] + np.clip(part, 0.0, 1.0) * (amounts[place] - amounts[below])
    return found
