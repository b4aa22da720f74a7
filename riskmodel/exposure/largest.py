"""The year's largest single loss, and return periods: occurrence beside the aggregate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, fraction, not_negative
from riskmodel.errors import ParameterError
from riskmodel.exposure.distribution import ROUNDING
from riskmodel.exposure.nodes import NodeChances
from riskmodel.exposure.risks import Risks, checked_rates, checked_risks


@dataclass(frozen=True, eq=False)
class LargestLoss:
    """Distribution of a year's largest loss: P(largest > it) ``exceeded`` (u,) at each ``loss`` (u,) from 0 [currency].

    Between these losses nothing lies: it is a step curve, exact for outcomes.
    """

    loss: FloatArray
    exceeded: FloatArray

    def exceedance(self, x: npt.ArrayLike) -> FloatArray:
        """P(the largest loss of the year > x), x [currency] of any shape, 0 or more."""
        place = np.searchsorted(self.loss, not_negative("x", x), side="right") - 1
        found: FloatArray = self.exceeded[place]
        return found[()]

    def quantile(self, probability: npt.ArrayLike) -> FloatArray:
        """The least loss that the year's largest does not exceed with ``probability`` [currency]."""
        place = np.searchsorted(1.0 - self.exceeded, fraction("probability", probability) - ROUNDING)
        found: FloatArray = self.loss[np.minimum(place, len(self.loss) - 1)]
        return found[()]

    def curve(self, return_periods: npt.ArrayLike) -> FloatArray:
        """The largest loss exceeded once in so many years on average [currency]; return periods above 1 year."""
        return self.quantile(1.0 - 1.0 / np.asarray(return_periods, dtype=float))

    @property
    def mean(self) -> float:
        """Mean of the year's largest loss, 0 in a year without [currency]."""
        return float(np.diff(self.loss) @ self.exceeded[:-1])


def largest_loss(
    probability: npt.ArrayLike,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LargestLoss:
    """The year's largest loss of independent risks: P(none exceeds x) = prod (1 - p P(X > x)).

    Arguments as in ``annual_loss``. Raises ParameterError as it does.
    """
    risks = checked_risks(probability, loss, weight, count)
    return _largest(risks, NodeChances(risks.chance[:, None], np.ones(1)))


def largest_loss_at_nodes(
    nodes: NodeChances,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LargestLoss:
    """The same mixed over nodes at each of which risks are independent (mixture_loss). Raises ParameterError."""
    return _largest(checked_risks(nodes.average, loss, weight, count), nodes)


def poisson_largest_loss(
    rate: npt.ArrayLike, loss: npt.ArrayLike, weight: npt.ArrayLike | None = None
) -> LargestLoss:
    """The same for Poisson numbers of losses: exp(-sum of rate P(X > x)). Raises ParameterError."""
    rates = checked_rates(rate, loss, weight)
    order, losses = _falling(rates)
    arriving = (rates.chance[:, None] * rates.weight).ravel()[order]
    return _curve(losses, [np.cumsum(arriving)], np.ones(1))


def occurrence_exceedance(rate: npt.ArrayLike, exceedance: npt.ArrayLike) -> FloatArray:
    """P(at least one loss over x in the year): ``rate`` losses a year, each over x with chance ``exceedance``."""
    found: FloatArray = -np.expm1(-not_negative("rate", rate) * not_negative("exceedance", exceedance))
    return found


def return_period(exceedance: npt.ArrayLike) -> FloatArray:
    """Years between exceedances on average, from the chance in a year: its inverse; infinite at 0."""
    chance = not_negative("exceedance", exceedance)
    if chance.max(initial=0.0) > 1:
        raise ParameterError(f"exceedance must lie in [0, 1], got {chance.max():g}")
    with np.errstate(divide="ignore"):
        found: FloatArray = 1.0 / chance
    return found


def annual_probability(years: npt.ArrayLike) -> FloatArray:
    """The chance in a year of what is exceeded once in ``years`` on average; 1 or more."""
    periods = np.asarray(years, dtype=float)
    if not (periods >= 1).all():
        raise ParameterError(f"a return period must be 1 year or more, got {periods.min():g}")
    found: FloatArray = 1.0 / periods
    return found


def _largest(risks: Risks, nodes: NodeChances) -> LargestLoss:
    order, losses = _falling(risks)
    risk, above = _share_above(risks, order)
    often = np.ones(len(order)) if risks.count is None else risks.count[risk]
    logs = []
    for node in range(len(nodes.weight)):
        chance = nodes.at(node)[risk]
        # A certain loss leaves no chance of less: log(0), but for the last digit.
        floor = np.finfo(float).tiny
        now, before = (np.log(np.maximum(1.0 - chance * share, floor)) for share in above)
        logs.append(-np.cumsum(often * (now - before)))
    return _curve(losses, logs, nodes.weight)


def _falling(risks: Risks) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Order of all outcomes from the largest loss down, and the losses in it."""
    flat = risks.loss.ravel()
    order = np.argsort(-flat, kind="stable")
    return order, flat[order]


def _share_above(
    risks: Risks, order: npt.NDArray[np.intp]
) -> tuple[npt.NDArray[np.intp], tuple[FloatArray, FloatArray]]:
    """For each outcome from the largest down: its risk, and that risk's P(X >= it) with and without it."""
    rows, outcomes = risks.loss.shape
    risk = order // outcomes
    if outcomes == 1:
        return risk, (np.ones(rows), np.zeros(rows))
    within = np.argsort(-risks.loss, axis=1, kind="stable")
    upto = np.cumsum(np.take_along_axis(risks.weight, within, axis=1), axis=1)
    now = np.empty_like(upto)
    np.put_along_axis(now, within, np.minimum(upto, 1.0), axis=1)
    return risk, (now.ravel()[order], np.maximum(now - risks.weight, 0.0).ravel()[order])


def _curve(losses: FloatArray, hazards: list[FloatArray], weight: FloatArray) -> LargestLoss:
    """Chances that a loss exceeds each distinct one, from the hazards of one at least as large, falling losses."""
    last = np.flatnonzero(np.append(np.diff(losses) != 0, True))
    distinct = losses[last]
    # Strictly above a loss is at or above the one before it.
    exceeded = np.zeros(len(distinct) + 1)
    for share, hazard in zip(weight, hazards, strict=True):
        exceeded[1:] -= share * np.expm1(-hazard[last])
    if distinct[-1] > 0:
        return LargestLoss(np.append(distinct, 0.0)[::-1], exceeded[::-1])
    return LargestLoss(distinct[::-1], exceeded[:-1][::-1])
