"""How much money a year's total can be, but for a chance of 1e-13 on either side: Chernoff's limits.

P(S >= b) <= exp(L(t) - t b) with L(t) = log E exp(t S), for any t > 0 (Chernoff 1952). For independent risks
log(1 + p (E exp(t X) - 1)) <= p (E exp(t X) - 1), so that the limits hold for single risks and for Poisson
counts alike. Losses stand between the edges of narrow bands and are split between them with their mean kept,
which for a convex function can only widen the limits. A count of deviations would be no limit: one boat with a
rare large loss has a deviation far below that loss.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.risks import Risks, blocks

# Chance that a year's total falls outside, on either side.
OUTSIDE = 1e-13
# Leading bits of a number that make its band: 8 of the mantissa, bands no wider than one part in 256.
BAND_SHIFT = np.int64(52 - 8)
# Losses below this share of the largest one stand between 0 and it.
SMALLEST = 2.0**-40
# Tried slopes t on an even grid of the logarithm: the best of them leaves the limits within a percent of the best.
SLOPES = 64
# Where whole numbers of a float end, and how far from one an amount in parts of a unit may be.
LAST_WHOLE, OFF_WHOLE = 2.0**53, 1e-6
# exp() of more would be infinite.
MOST_EXPONENT = 700.0


@dataclass(frozen=True, eq=False)
class Bands:
    """Edges ``loss`` (b,) [currency] of the bands of a book, and between which of them its outcomes stand.

    ``band`` (m,): the edge below each ``outcome`` (m,) [currency]. ``weight`` (m,) and ``row`` (m,): its chance given a
    loss, and the risk it belongs to; None for books of one outcome a risk.
    """

    loss: FloatArray
    band: npt.NDArray[np.int32]
    outcome: FloatArray
    weight: FloatArray | None = None
    row: npt.NDArray[np.intp] | None = None

    def number(self, rate: FloatArray) -> FloatArray:
        """(b,) expected yearly number of losses of about each edge, where risks lose at rates (n,)."""
        mass = rate if self.row is None or self.weight is None else rate[self.row] * self.weight
        found, money = np.zeros_like(self.loss), np.zeros_like(self.loss)
        for some in blocks(len(self.band)):
            found += np.bincount(self.band[some], mass[some], len(found))
            money += np.bincount(self.band[some], mass[some] * self.outcome[some], len(found))
        # A split with the mean kept is linear in the loss: the band's number and money say it for all in it.
        upper = np.zeros_like(found)
        upper[1:] = (money - found * self.loss)[:-1] / np.diff(self.loss)
        np.clip(upper[1:], 0.0, found[:-1], out=upper[1:])
        found += upper
        found[:-1] -= upper[1:]
        return found


def bands_of(risks: Risks) -> Bands:
    """The book's bands of loss."""
    losses, row, weight = risks.loss.ravel(), None, None
    if not risks.single:
        row, column = np.nonzero((risks.weight > 0) & (risks.loss > 0))
        losses, weight = risks.loss[row, column], risks.weight[row, column]
    # The smallest normal number stands for a book without losses.
    lowest = max(losses.max(initial=0.0) * SMALLEST, np.finfo(float).tiny)
    least = max(float(losses.min(initial=np.inf)), lowest)
    first, last = (int(_band(np.array([end]))[0]) for end in (least, max(losses.max(initial=0.0), least)))
    band = np.empty(len(losses), dtype=np.int32)
    for some in blocks(len(losses)):
        band[some] = _band(np.maximum(losses[some], lowest)) - first
    edges = ((np.arange(last - first + 2) + first) << BAND_SHIFT).view(np.float64).copy()
    edges[0] = 0.0
    return Bands(edges, band, losses, weight, row)


def _band(losses: FloatArray) -> npt.NDArray[np.int64]:
    return losses.view(np.int64) >> BAND_SHIFT


@dataclass(frozen=True, eq=False)
class Mixture:
    """Risks that have one of several years together: its chance ``years`` (y, z), and expected ``number`` (y, z, b)."""

    years: FloatArray
    number: FloatArray


def limits(
    loss: FloatArray, number: FloatArray, spread: float = 0.0, mixtures: Sequence[Mixture] = ()
) -> tuple[FloatArray, FloatArray]:
    """Between which a year's total falls at each node: two arrays (z,) [currency].

    ``loss`` (b,) and expected yearly ``number`` (z, b) of about each. ``spread``: losses may be split over so
    much money with their mean kept, which multiplies their E exp(tX) by exp(t² spread² / 8) at most (Hoeffding
    1963). ``mixtures`` are independent of one another and of the rest: E exp(tS) of one is the mean over its years.
    """
    whole = number + sum(np.einsum("yz,yzb->zb", each.years, each.number) for each in mixtures)
    used = (whole > 0).any(axis=0) & (loss > 0)
    if not used.any():
        return np.zeros(len(number)), np.zeros(len(number))
    loss, number = loss[used], number[:, used]
    deviations = np.sqrt(whole[:, used] @ loss**2)
    largest, least, most = float(loss.max()), float(deviations[deviations > 0].min()), float(deviations.max())
    needed = -np.log(OUTSIDE)

    def bounds(slopes: FloatArray) -> FloatArray:
        exponent = slopes[:, None] * loss + (slopes[:, None] * spread) ** 2 / 8.0
        with np.errstate(over="ignore"):
            powers = np.expm1(np.minimum(exponent, MOST_EXPONENT)).T
            grown = number @ powers
            for each in mixtures:
                grown = grown + _log_mean(each, each.number[:, :, used] @ powers)
            found: FloatArray = ((grown + needed) / np.abs(slopes)).min(axis=1)
        return found

    last = min(MOST_EXPONENT / largest, 100.0 / min(least, largest))
    high = bounds(np.geomspace(0.5 / max(most, largest), last, SLOPES))
    low = -bounds(-np.geomspace(0.5 / most, 1e4 / least, SLOPES))
    return np.maximum(low, 0.0), high


def _log_mean(mixture: Mixture, grown: FloatArray) -> FloatArray:
    """(z, t) logarithm of the mean over years of exp(grown), (y, z, t)."""
    held = np.where(mixture.years[:, :, None] > 0, grown, -np.inf)
    top = held.max(axis=0)
    top = np.where(np.isfinite(top), top, 0.0)
    found: FloatArray = top + np.log(np.einsum("yz,yzt->zt", mixture.years, np.exp(held - top)))
    return found


def common_unit(values: FloatArray, per_unit: float = 100.0) -> float:
    """The largest amount, in whole hundredths, that every value is a multiple of; 0 where there is none."""
    few = _whole(values[:1000], per_unit)
    if few is None or not (divisor := int(np.gcd.reduce(few))):
        return 0.0
    # Most books are multiples of what their first thousand losses are multiples of.
    if all(_multiples(values[some], divisor, per_unit) for some in blocks(len(values))):
        return divisor / per_unit
    whole = _whole(values, per_unit)
    return 0.0 if whole is None else int(np.gcd.reduce(whole)) / per_unit


def _multiples(values: FloatArray, divisor: int, per_unit: float) -> bool:
    """Whether all values are multiples of so many parts of a unit, and none is past the whole numbers of a float."""
    ratio = values * (per_unit / divisor)
    whole = np.rint(ratio)
    ratio -= whole
    off = max(float(ratio.max()), -float(ratio.min()))
    return float(whole.max()) * divisor <= LAST_WHOLE and off * divisor <= OFF_WHOLE


def _whole(values: FloatArray, per_unit: float) -> npt.NDArray[np.int64] | None:
    """Values in whole parts of a unit; None unless all are, as amounts that people type are."""
    scaled = values * per_unit
    whole = np.rint(scaled)
    if values.size == 0 or whole.max() > LAST_WHOLE or np.abs(scaled - whole).max() > OFF_WHOLE:
        return None
    return whole.astype(np.int64)
