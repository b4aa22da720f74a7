"""What each end state would cost each boat: a range of the mean loss and the spread of single losses, uninsured."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.hypercube import WIDTH_90, Hypercube
from riskmodel.lognormal import exceedance, limited_mean, limited_slope
from riskmodel.trade import EndState, Trade
from riskmodel.trade.money import Bill, bills, mean_loss

CLEARED = ("cleared_low", "cleared_high")
# The dearest tenth of losses begins here.
TENTH = NormalDist().inv_cdf(0.9)
# Points of the normal at which doubt about a mean is held to what can be lost: finer changes nothing that shows.
POINTS = 64
# Newton steps from below on a concave curve: they never overshoot, and each doubles the digits that are right.
STEPS = 12


@dataclass(frozen=True)
class LossSpread:
    """Single losses of one end state on boats (n,), in their currency.

    ``mean`` is the mean the ranking uses; ``median`` and ``p90`` (nine in ten cost less) are of single losses at that
    mean; ``total_loss_share``: of such losses, how many cost more to repair than the boat is worth.
    """

    median: FloatArray
    mean: FloatArray
    p90: FloatArray
    total_loss_share: FloatArray


def vessel_losses(vessels: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """One row per boat and end state, in the fleet's currency, before any insurance.

    Parameters
    ----------
    vessels : DataFrame
        ``vessel_id``, ``value`` [currency] and ``length_m``, both above 0.

    Returns
    -------
    DataFrame
        ``vessel_id, end_state, low, high``: central 90 % of our doubt about the mean loss; ``mean, median, p90,
        total_loss_share``: LossSpread's, of single losses; ``value`` and ``cleared_low, cleared_high``: what a loss
        is made of at the most, the boat and her clean-up.

    Raises
    ------
    ParameterError
        For a value or length not above 0.
    """
    value, length = (vessels[name].to_numpy(dtype=float) for name in ("value", "length_m"))
    columns: dict[str, list[FloatArray]] = {}
    for end_state in trade.end_states.values():
        low, high = loss_range(end_state, value, length)
        spread = loss_distribution(end_state, value, length)
        found = {"low": low, "high": high, "mean": spread.mean, "median": spread.median, "p90": spread.p90}
        cleared = (each.cleared_per_metre * length for each in bills(end_state))
        found |= {"total_loss_share": spread.total_loss_share, "value": value}
        for name, cells in (found | dict(zip(CLEARED, cleared, strict=True))).items():
            columns.setdefault(name, []).append(cells)
    states, boats = len(trade.end_states), len(vessels)
    names = {
        "vessel_id": np.repeat(vessels["vessel_id"].to_numpy(), states),
        "end_state": np.tile(np.array(list(trade.end_states), dtype=object), boats),
    }
    # Boat by boat, and on each boat in the order of the trade's end states.
    return pd.DataFrame(names | {name: np.stack(cells).T.ravel() for name, cells in columns.items()})


def loss_range(end_state: EndState, value: FloatArray, length_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean loss on boats (n,), low and high: central 90 % of our doubt about it (trade.end_state_loss, many boats).

    Raises ParameterError for a value [currency] or length [m] not above 0.
    """
    _refuse("value", value)
    _refuse("length_m", length_m)
    low, high = bills(end_state)
    return mean_loss(low, value, length_m), mean_loss(high, value, length_m)


def loss_distribution(end_state: EndState, value: FloatArray, length_m: FloatArray) -> LossSpread:
    """The spread of single losses on boats (n,): min(repair, value), a log-normal bill, plus salvage and clean-up.

    A bill over the boat's value is a constructive total loss. Of the bills between the low and the high end the one is
    taken whose mean loss is the mean of our doubt, so that what is shown agrees with what is ranked by.

    Raises ParameterError for a value [currency] or length [m] not above 0.
    """
    mean = _mean_of_doubt(end_state, value, length_m)
    sd = end_state.repair_log_sd
    bill, cleared = _at_the_mean(bills(end_state), mean, value, length_m)
    return LossSpread(
        np.minimum(bill, value) + cleared,
        mean,
        np.minimum(bill * math.exp(TENTH * sd), value) + cleared,
        exceedance(bill, sd, value),
    )


def drawn_losses(draws: Hypercube, end_state: str, losses: pd.DataFrame) -> FloatArray:
    """(n, count) the mean loss of one end state draw by draw, about the ``mean`` in its rows of vessel_losses.

    Log-normal between low and high; no draw is above the boat's value and that draw's clean-up.
    """
    low, high, mean = (losses[name].to_numpy(dtype=float) for name in ("low", "high", "mean"))
    drawn = draws.between(f"loss/{end_state}", _least(low, high), high)
    most = most_lost(draws, end_state, losses)
    over = (drawn > most).any(axis=1)
    if over.any():
        # The rest is drawn together with what was cut off, so that the mean stays the one that is told.
        spare = most[over] - np.minimum(drawn[over], most[over])
        part = (most[over].mean(axis=1) - mean[over]) / np.maximum(spare.mean(axis=1), np.finfo(float).tiny)
        drawn[over] = most[over] - spare * part[:, None]
    return drawn


def most_lost(draws: Hypercube, end_state: str, losses: pd.DataFrame) -> FloatArray:
    """(n, count) the boat's value and what clearing up costs in the draw that ``drawn_losses`` has."""
    low, high = (losses[name].to_numpy(dtype=float) for name in CLEARED)
    cleared = draws.between(f"loss/{end_state}", _least(low, high), high)
    return losses["value"].to_numpy(dtype=float)[:, None] + cleared


def _mean_of_doubt(end_state: EndState, value: FloatArray, length_m: FloatArray) -> FloatArray:
    """Mean of what ``drawn_losses`` draws, (n,)."""
    low, high = loss_range(end_state, value, length_m)
    mean = mean_of_range(_least(low, high), high)
    points = Hypercube(0, POINTS)
    # A boat worth more than the dearest draw needs no second look (a deviation is one e-fold at the most).
    near = np.flatnonzero(high * np.exp(points.normal("").max() - 0.5 * WIDTH_90) > value)
    if len(near):
        drawn = points.between("", _least(low[near], high[near]), high[near])
        cleared = (each.cleared_per_metre * length_m[near] for each in bills(end_state))
        least, most = (np.asarray(each) for each in cleared)
        over = drawn - value[near, None] - points.between("", _least(least, most), most)
        mean[near] -= np.maximum(over, 0.0).mean(axis=1)
    return mean


def _least(low: FloatArray, high: FloatArray) -> FloatArray:
    """The low end of doubt: from next to nothing to something is no wider than from nothing (mean_of_range)."""
    found: FloatArray = np.maximum(low, high * math.exp(-WIDTH_90))
    return found


def mean_of_range(low: FloatArray, high: FloatArray) -> FloatArray:
    """Mean of the log-normal whose central 90 % runs from low to high, as Hypercube.between draws it; 0 to 0 is 0."""
    tiny = np.finfo(float).tiny
    top = np.log(np.maximum(high, tiny))
    # From nothing to something: one e-fold of doubt a standard deviation.
    bottom = np.where(low > 0, np.log(np.maximum(low, tiny)), top - WIDTH_90)
    mean: FloatArray = np.exp(0.5 * (bottom + top) + 0.5 * ((top - bottom) / WIDTH_90) ** 2)
    return np.where(high > 0, mean, 0.0)


def _at_the_mean(
    ends: tuple[Bill, Bill], mean: FloatArray, value: FloatArray, length_m: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Median bill and clean-up (n,), on the line from the low to the high end, whose mean loss is ``mean``."""
    sd = ends[0].log_sd
    bill, dearest = (each.value_share * value + each.per_metre * length_m for each in ends)
    cleared, most_cleared = (each.cleared_per_metre * length_m for each in ends)
    wider, more = dearest - bill, most_cleared - cleared
    part = np.zeros(len(value))
    for _ in range(STEPS):
        median = bill + part * wider
        short = mean - limited_mean(median, sd, value) - cleared - part * more
        slope = limited_slope(median, sd, value) * wider + more
        # No slope: both ends are one, and nothing is short.
        part = np.clip(part + short / np.where(slope > 0, slope, np.inf), 0.0, 1.0)
    return bill + part * wider, cleared + part * more


def _refuse(name: str, numbers: FloatArray) -> None:
    bad = ~(np.isfinite(numbers) & (numbers > 0))
    if bad.any():
        raise ParameterError(f"{name} must be a number above 0, got {numbers[bad][0]:g}")
