"""What single losses of boats come to: log-normal repair bills up to the boat's value, salvage, and policy terms."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray

TINY = float(np.finfo(float).tiny)


@dataclass(frozen=True, eq=False)
class Payouts:
    """One loss each, in arrays that broadcast [currency]: min(max(min(bill, cap) + inside - deductible, 0), limit) +
    outside, the bill log-normal with ``median`` and ``log_sd``.

    ``inside`` and ``outside``: salvage and clean-up under the terms, and paid on top of them. The mean up to any amount
    is closed form (limited expected value; Klugman, Panjer & Willmot, Loss Models, from memory), so that a loss can be
    put on a lattice with its mean kept.
    """

    median: FloatArray
    log_sd: FloatArray
    cap: FloatArray
    inside: FloatArray
    outside: FloatArray
    deductible: FloatArray
    limit: FloatArray

    def take(self, boats: slice | npt.NDArray[np.intp] | int) -> Payouts:
        """Some boats: the first axis of every array."""
        return Payouts(**{each.name: getattr(self, each.name)[boats] for each in fields(self)})

    def spread(self) -> Payouts:
        """With one axis more at the end, for amounts (m,) to broadcast against."""
        return Payouts(**{each.name: getattr(self, each.name)[..., None] for each in fields(self)})

    def paid(self, bill: npt.ArrayLike) -> FloatArray:
        """What is paid of a repair bill of this amount."""
        repair = np.minimum(np.asarray(bill, dtype=float), self.cap)
        under = np.maximum(repair + self.inside - self.deductible, 0.0)
        found: FloatArray = np.minimum(under, self.limit) + self.outside
        return found

    @property
    def most(self) -> FloatArray:
        """The largest of them."""
        return self.paid(self.cap)

    @property
    def mean(self) -> FloatArray:
        """Their means."""
        return self.mean_upto(self.most)

    def mean_upto(self, amount: npt.ArrayLike) -> FloatArray:
        """E[min(payout, amount)], amounts of 0 or more."""
        over = np.maximum(np.asarray(amount, dtype=float) - self.outside, 0.0)
        under = np.minimum(over, self.limit)
        layer = self._bill_upto(self.deductible + under) - self._bill_upto(self.deductible)
        found: FloatArray = np.minimum(amount, self.outside) + layer
        return found

    def exceedance(self, amount: npt.ArrayLike) -> FloatArray:
        """P(payout > amount), amounts of 0 or more."""
        over = np.asarray(amount, dtype=float) - self.outside
        bill = self.deductible + over - self.inside
        paid = np.where(bill >= self.cap, 0.0, np.where(bill < 0, 1.0, self._above(bill)))
        found: FloatArray = np.where(over < 0, 1.0, np.where(over >= self.limit, 0.0, paid))
        return found

    def _bill_upto(self, amount: FloatArray) -> FloatArray:
        """E[min(min(bill, cap) + inside, amount)]."""
        repair = np.minimum(np.maximum(amount - self.inside, 0.0), self.cap)
        away = self._deviations(repair)
        below = self.median * np.exp(0.5 * self.log_sd**2) * _normal_cdf(away - self.log_sd)
        layer = np.where(repair > 0, below + repair * _normal_cdf(-away), 0.0)
        found: FloatArray = np.minimum(amount, self.inside) + layer
        return found

    def _above(self, bill: FloatArray) -> FloatArray:
        return _normal_cdf(-self._deviations(bill))

    def _deviations(self, bill: FloatArray) -> FloatArray:
        away: FloatArray = np.log(np.maximum(bill, TINY)) - np.log(np.maximum(self.median, TINY))
        return away / self.log_sd


def on_points(payouts: Payouts, points: FloatArray) -> FloatArray:
    """Chances (..., m) of the payouts on ``points`` (m,) that rise from 0 to the largest or more, every mean kept."""
    return split_on(points, payouts.spread().mean_upto(points))


def split_on(points: FloatArray, upto: FloatArray) -> FloatArray:
    """Chances (..., m) on ``points`` (m,), from the mean up to each, ``upto`` (..., m): E[min(loss, point)].

    Between two points each amount is split in proportion: what is left is the second difference of the mean up to
    each point (Gerber 1982). Splitting can only widen a loss, in the convex order. What lies above the last point
    stands on it.
    """
    slope = np.diff(upto, axis=-1) / np.diff(points)
    ends = np.ones((*slope.shape[:-1], 1))
    found: FloatArray = -np.diff(np.concatenate([ends, slope, 0.0 * ends], axis=-1), axis=-1)
    return np.maximum(found, 0.0, out=found)


def _normal_cdf(z: FloatArray) -> FloatArray:
    # Three times as fast as the start-up's own, and a book has millions of points.
    from scipy.special import ndtr

    found: FloatArray = ndtr(z)
    return found
