"""What it costs a boat, in a year, that one of its pumps, switches, alarms, blowers or ducts is dead unseen."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import background_of_boats, boats_with_pumps
from riskmodel.risk import Assessment
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.outcomes import Consequences, barrier_ready, outcomes


def loss_while_dead(result: Assessment) -> FloatArray:
    """(items,) money a year that each part of a barrier class averts while it works; 0 for every other part.

    By what a rise of its barrier's chance to work averts (outcomes.Outcomes.guards), the other parts that the barrier
    needs, and the boat's other parts of the class, as ready as they are. Over the horizon's year of the boat.
    """
    fleet, barriers = result.fleet, result.barriers
    loss = np.zeros(len(fleet.items))
    if not barriers.places:
        return loss
    consequences = _consequences(result)
    by_item = result.frame.set_index("item_id")["failure_probability"]
    chance = np.repeat(by_item.loc[fleet.items["item_id"]].to_numpy()[:, None], DRAWS, axis=1)
    guards = outcomes(chance, consequences, barriers.working, result.trade, Draws()).guards
    quantity = np.maximum(fleet.items["quantity"].to_numpy(dtype=float), 1.0)
    for barrier in result.trade.barriers:
        averts = guards.get((barrier.barrier, barrier.end_state))
        if averts is None:
            continue
        for name in (each for each in barrier.needs if each in barriers.places):
            here = barriers.places[name]
            boat = consequences.vessel[here]
            alone = _alone(barriers.working[name][boat], barriers.ready[name].dead, quantity[here])
            others = tuple(other for other in barrier.needs if other != name)
            ready = barrier_ready(others, barriers.working, consequences.vessels)
            loss[here] += (averts[boat] * ready[boat] * alone).mean(axis=1)
    per_year: FloatArray = np.maximum(loss, 0.0) / result.horizon.years
    return per_year


def _consequences(result: Assessment) -> Consequences:
    fleet, following = result.fleet, result.following
    boats = boats_with_pumps(fleet.items, fleet.vessels)
    return Consequences(
        following=following,
        background=background_of_boats(boats, following.year, result.horizon.years, result.trade),
        losses=result.losses,
        vessel=pd.Index(fleet.vessels["vessel_id"]).get_indexer(fleet.items["vessel_id"]),
        vessels=len(fleet.vessels),
    )


def _alone(working: FloatArray, dead: FloatArray, quantity: FloatArray) -> FloatArray:
    """Chance (n, DRAWS) that the boat has no other working part of the class than one of a row's."""
    tiny = np.finfo(float).tiny
    other_rows = np.clip((1.0 - working) / np.maximum(dead, tiny), 0.0, 1.0)
    alone: FloatArray = other_rows * dead ** (1.0 - 1.0 / quantity)[:, None]
    return alone
