"""Joins chances of letting go with what follows: end states and losses per part, adding up to the boat."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import stopping
from riskmodel.frames import places_by
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.trade import Trade

WORKERS = 2


@dataclass(frozen=True)
class Outcomes:
    """Draw-wise results.

    ``loss`` (items, DRAWS): each part's share of its boat's expected loss. ``probability``: per end state, the mean
    chance over the horizon that this part brings it about (items,). ``kill`` (items, DRAWS): the same chance draw by
    draw, all end states that can kill together. ``vessel_loss``: per end state, (vessels, DRAWS).
    """

    loss: FloatArray
    kill: FloatArray
    probability: Mapping[str, FloatArray]
    vessel_loss: Mapping[str, FloatArray]


@dataclass(frozen=True)
class Consequences:
    """What may follow in this fleet: ``paths`` (consequence.item_paths), ``losses`` (consequence.vessel_losses) and
    ``vessel`` (items,), each item's place in the vessels table."""

    paths: pd.DataFrame
    losses: pd.DataFrame
    vessel: npt.NDArray[np.intp]
    vessels: int


def outcomes(
    chance: FloatArray,
    consequences: Consequences,
    working: Mapping[str, FloatArray],
    trade: Trade,
    draws: Draws,
) -> Outcomes:
    """End states and losses of every part (methods: consequence; shares of competing parts).

    Parameters
    ----------
    chance : (items, DRAWS)
        Chance of letting go over the horizon; known defects included.
    working : mapping
        Per barrier class, the chance that at least one works (vessels, DRAWS); 0 where none is fitted.
    """
    items = len(chance)
    present = set(consequences.paths["end_state"])
    states = [name for name in trade.end_states if name in present]

    def of_state(end_state: str) -> tuple[FloatArray, FloatArray, FloatArray]:
        here = consequences.paths[consequences.paths["end_state"] == end_state]
        place = here["item"].to_numpy()
        boat = consequences.vessel[place]
        still = left_after_barriers(end_state, consequences.vessels, working, trade, draws)
        each = uncorrelated(chance[place], conditional_draws(here, draws), still[boat])
        share, _ = shares(np.minimum(each, 1 - 1e-12), boat, consequences.vessels)
        costs = uncorrelated(share, _prices(end_state, consequences.losses, draws)[boat])
        return (
            sums_by(share, place, items),
            sums_by(costs, place, items),
            sums_by(costs, boat, consequences.vessels),
        )

    loss, kill = np.zeros((items, DRAWS)), np.zeros((items, DRAWS))
    probability, vessel_loss = {}, {}
    # End states do not touch one another until they are added up, in their own order: two at a time.
    with ThreadPoolExecutor(WORKERS) as pool:
        for name, (share, costs, by_boat) in zip(states, pool.map(of_state, states), strict=True):
            loss += costs
            if trade.end_states[name].can_kill:
                kill += share
            probability[name], vessel_loss[name] = share.mean(axis=1), by_boat
    return Outcomes(loss, kill, probability, vessel_loss)


def uncorrelated(*factors: FloatArray) -> FloatArray:
    """Product (n, m) of independent factors drawn together, scaled so that its mean is the product of their means.

    A few hundred draws of independent things correlate by chance; the bands may bear that, the means need not.
    """
    product, wanted = factors[0].copy(), factors[0].mean(axis=1)
    for factor in factors[1:]:
        product *= factor
        wanted = wanted * factor.mean(axis=1)
    found = product.mean(axis=1)
    product *= np.where(found > 0, wanted / np.maximum(found, np.finfo(float).tiny), 1.0)[:, None]
    return product


def shares(each: FloatArray, boat: npt.NDArray[np.intp], vessels: int) -> tuple[FloatArray, FloatArray]:
    """Each part's share of 1 - product(1 - s) on its boat, and that total (vessels, DRAWS).

    The share is the total times log(1 - s) over the sum of the boat's log(1 - s): parts add up to the boat.
    """
    logs = np.log1p(-each)
    sums = sums_by(logs, boat, vessels)
    total = -np.expm1(sums)
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.where(sums < 0, total / sums, 0.0)
    return logs * scale[boat], total


def sums_by(values: FloatArray, group: npt.NDArray[np.intp], groups: int) -> FloatArray:
    """(groups, m) sums of the rows of ``values`` (n, m) by ``group`` (n,); groups without rows get 0."""
    order = np.argsort(group, kind="stable")
    present, first = np.unique(group[order], return_index=True)
    sums = np.zeros((groups, values.shape[1]))
    sums[present] = np.add.reduceat(values[order], first, axis=0)
    return sums


def left_after_barriers(
    end_state: str,
    vessels: int,
    working: Mapping[str, FloatArray],
    trade: Trade,
    draws: Draws,
) -> FloatArray:
    """Share (vessels, DRAWS) of an end state that the boat's barriers do not stop."""
    left = np.ones((vessels, DRAWS))
    for barrier in trade.barriers:
        if barrier.end_state != end_state:
            continue
        stops = stop_draws(barrier.barrier, barrier.stops_low, barrier.stops_high, draws)
        left *= stopping(barrier, stops, working)
    return left


def stop_draws(barrier: str, low: float, high: float, draws: Draws) -> FloatArray:
    """(DRAWS,) share a working barrier stops, never above 0.98: nothing stops everything (judgement)."""
    stops: FloatArray = np.minimum(
        draws.between(f"barrier/{barrier}", np.array([low]), np.array([high]))[0], 0.98
    )
    return stops


def conditional_draws(paths: pd.DataFrame, draws: Draws) -> FloatArray:
    """(rows, DRAWS) P(end state | lets go); parts of one class move together on one path."""
    follows = np.empty((len(paths), DRAWS))
    ranges = paths[["low", "high"]].to_numpy(dtype=float)
    for name, place in places_by(paths["item_class"] + "/" + paths["end_state"]).items():
        # Boats in like circumstances share a range, and so its draws.
        kinds, kind = np.unique(ranges[place], axis=0, return_inverse=True)
        follows[place] = draws.between(f"path/{name}", kinds[:, 0], kinds[:, 1])[kind.ravel()]
    likely: FloatArray = np.minimum(follows, 0.95)
    return likely


def _prices(end_state: str, losses: pd.DataFrame, draws: Draws) -> FloatArray:
    rows = losses[losses["end_state"] == end_state]
    return draws.between(
        f"loss/{end_state}", rows["low"].to_numpy(dtype=float), rows["high"].to_numpy(dtype=float)
    )
