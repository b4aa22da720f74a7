"""How much single losses of each boat and end state come to, draw by draw: a few bills between which the draws lie."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.payouts import TINY, Payouts
from riskmodel.hypercube import WIDTH_90
from riskmodel.trade import Trade

# Sizes of bill a boat and end state: neighbours' means are less than a factor of two apart, and a draw between two of
# them is a mixture of both with its own mean.
SIZES = 5
# No mean comes nearer to the boat's value than this share of it: the bill would have to be endless.
NEAR_VALUE = 1e-6
# Beyond the high end of what clearing up costs: three deviations of one e-fold, further than any draw lies.
MOST_CLEARED = math.exp(3.0 - 0.5 * WIDTH_90)
HALVINGS = 80
# A boat's whole value is lost for certain where fewer bills than this are smaller: the logarithm has an end.
LEAST_CHANCE = 1e-15


@dataclass(frozen=True, eq=False)
class Severities:
    """Single losses of boats by end state (n, K), and by size of bill (n, K, SIZES) [currency].

    ``median`` of the log-normal bill before the boat's ``value`` (n,) cuts it off, ``cleared``: salvage and clean-up;
    ``log_sd`` (K,). Draw z has the sizes ``below`` and ``below`` + 1 (n, K, D), the latter with chance ``share``.
    """

    median: FloatArray
    cleared: FloatArray
    log_sd: FloatArray
    value: FloatArray
    below: npt.NDArray[np.int8]
    share: FloatArray

    def payouts(self, cover: Cover) -> Payouts:
        """What the cover pays of one loss, (n, K, SIZES): nothing of what is never on risk."""
        covered = cover.covered * (cover.on_risk > 0)
        under = covered * cover.salvage_inside
        limit = np.where(covered > 0, cover.limit[:, None], 0.0)
        arrays = (
            self.median,
            self.log_sd[None, :, None],
            (cover.value_share * self.value)[:, None, None],
            self.cleared * under[:, :, None],
            self.cleared * (covered - under)[:, :, None],
            cover.deductible[:, None, None],
            limit[:, :, None],
        )
        return Payouts(*(np.broadcast_to(each, self.median.shape) for each in arrays))

    def take(self, boats: npt.NDArray[np.intp], states: npt.NDArray[np.intp]) -> Severities:
        """Those of some boats, which may come again, and some end states."""
        some = (boats[:, None], states[None, :])
        median, cleared = self.median[some], self.cleared[some]
        return Severities(
            median, cleared, self.log_sd[states], self.value[boats], self.below[some], self.share[some]
        )

    def drawn(self, sized: FloatArray) -> FloatArray:
        """(n, K, D) what each draw has of amounts (n, K, SIZES) that go with the sizes of bill."""
        below = self.below.astype(np.intp)
        low = np.take_along_axis(sized, below, axis=2)
        more = np.take_along_axis(sized, np.minimum(below + 1, SIZES - 1), axis=2) - low
        found: FloatArray = low + self.share * more
        return found

    def sized(self, chance: FloatArray, boat: int) -> FloatArray:
        """(D, K, SIZES) chances (K, D) of one boat's losses, over the sizes of their bills."""
        here, below, share = chance.T, self.below[boat].T, self.share[boat].T
        found = np.zeros((*here.shape, SIZES))
        np.put_along_axis(found, below[..., None].astype(np.intp), (here * (1.0 - share))[..., None], axis=2)
        above = np.minimum(below + 1, SIZES - 1)[..., None].astype(np.intp)
        found += np.where(np.arange(SIZES) == above, (here * share)[..., None], 0.0)
        return found


def severities(mean: FloatArray, losses: pd.DataFrame, value: FloatArray, trade: Trade) -> Severities:
    """Sizes of bill whose means span the draws' own.

    Parameters
    ----------
    mean : (n, K, D)
        Mean loss of each boat and end state, draw by draw [currency], above 0.
    losses : DataFrame
        ``median, total_loss_share, cleared_high`` by ``vessel_id, end_state`` (consequence.vessel_losses), in the
        order of ``mean``: the spread of losses at their mean, which is scaled to every other mean.
    value : (n,)
    """
    names = losses["end_state"].iloc[: mean.shape[1]]
    log_sd = np.array([trade.end_states[name].repair_log_sd for name in names])
    bill, cleared = _at_their_mean(losses, log_sd, value)
    # No mean reaches what a boat is worth with its clean-up, however dear the repair.
    wanted = np.minimum(mean, _dearest(losses, value)[:, :, None])
    low, high = wanted.min(axis=2), wanted.max(axis=2)
    steps = np.linspace(0.0, 1.0, SIZES)
    targets = low[:, :, None] ** (1.0 - steps) * high[:, :, None] ** steps
    one = Severities(bill[:, :, None], cleared[:, :, None], log_sd, value, *_nowhere(mean.shape))
    dearest = _most_cleared(losses, value)[:, :, None]
    sizes = _scaled(one, _scale_to(targets, one, dearest), dearest)
    below, share = _between(wanted, _means(sizes))
    return replace(sizes, below=below, share=share)


def with_means_times(bills: Severities, factor: FloatArray) -> Severities:
    """The same with every mean (n, K, SIZES) times ``factor`` (K,), as far as value and clean-up go.

    Dearer bills are still cut off at the boat's value, and clean-up stays what it was; cheaper ones take both down.
    """
    most = bills.value[:, None, None] * (1.0 - NEAR_VALUE) + bills.cleared
    targets = np.minimum(_means(bills) * factor[None, :, None], most)
    low, high = np.full(targets.shape, -HALVINGS / 2.0), np.full(targets.shape, HALVINGS / 2.0)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        under = _means(_billed(bills, np.exp(middle))) < targets
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    scale = np.where(factor[None, :, None] == 1.0, 1.0, np.exp(0.5 * (low + high)))
    return _billed(bills, scale)


def _billed(bills: Severities, scale: FloatArray) -> Severities:
    return replace(bills, median=bills.median * scale, cleared=bills.cleared * np.minimum(scale, 1.0))


def _at_their_mean(
    losses: pd.DataFrame, log_sd: FloatArray, value: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Median bill and clean-up (n, K) behind the ranking's figures: where the value lies on the bill tells the bill."""
    from scipy.special import ndtri

    shape = (len(value), len(log_sd))
    total, median = (
        losses[name].to_numpy(dtype=float).reshape(shape) for name in ("total_loss_share", "median")
    )
    away = ndtri(np.clip(total, 0.0, 1.0 - LEAST_CHANCE))
    bill = value[:, None] * np.exp(log_sd * np.maximum(away, -37.0))
    return bill, np.maximum(median - np.minimum(bill, value[:, None]), 0.0)


def _dearest(losses: pd.DataFrame, value: FloatArray) -> FloatArray:
    found: FloatArray = value[:, None] * (1.0 - NEAR_VALUE) + _most_cleared(losses, value)
    return found


def _most_cleared(losses: pd.DataFrame, value: FloatArray) -> FloatArray:
    """(n, K) beyond what clearing up costs in any draw."""
    found: FloatArray = MOST_CLEARED * losses["cleared_high"].to_numpy(dtype=float).reshape(len(value), -1)
    return found


def _scale_to(targets: FloatArray, one: Severities, dearest: FloatArray) -> FloatArray:
    """(n, K, SIZES) by what bill and clean-up are multiplied to have these means: halving, as the mean rises."""
    uncut = one.median * np.exp(0.5 * one.log_sd[None, :, None] ** 2) + one.cleared
    # The value cuts nothing off a small bill: no smaller scale will do, and near the value no end of it.
    low = np.log(targets) - np.log(np.maximum(uncut, TINY))
    high = low + 40.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        under = _means(_scaled(one, np.exp(middle), dearest)) < targets
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    found: FloatArray = np.exp(0.5 * (low + high))
    return found


def _scaled(one: Severities, scale: FloatArray, dearest: FloatArray) -> Severities:
    """Bill and clean-up times ``scale``, the clean-up up to the ``dearest``: it is no share of what a boat is worth."""
    return replace(one, median=one.median * scale, cleared=np.minimum(one.cleared * scale, dearest))


def _means(bills: Severities) -> FloatArray:
    """(n, K, SIZES) mean losses, before any terms."""
    return bills.payouts(Cover.of_all(bills.value, len(bills.log_sd))).mean


def _between(wanted: FloatArray, means: FloatArray) -> tuple[npt.NDArray[np.int8], FloatArray]:
    """Between which sizes' means (n, K, SIZES) each wanted mean (n, K, D) lies, and how far from the lower."""
    below = (wanted[..., None] >= means[:, :, None, 1:-1]).sum(axis=3)
    low = np.take_along_axis(means, below, axis=2)
    gap = np.take_along_axis(means, below + 1, axis=2) - low
    share = np.clip(np.divide(wanted - low, gap, out=np.zeros_like(wanted), where=gap > 0), 0.0, 1.0)
    return below.astype(np.int8), share


def _nowhere(shape: tuple[int, ...]) -> tuple[npt.NDArray[np.int8], FloatArray]:
    return np.zeros(shape, dtype=np.int8), np.zeros(shape)
