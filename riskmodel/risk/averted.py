"""Loss averted by renewing or looking at each part; for a barrier, what its boat is then worth less to the sea."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.consequence import stopping
from riskmodel.risk.class_risk import ClassRisk
from riskmodel.risk.draws import Draws
from riskmodel.risk.outcomes import Consequences, Outcomes, stop_draws
from riskmodel.risk.tasks import Benefits
from riskmodel.risk.working import Readiness
from riskmodel.trade import Barrier, Trade


@dataclass(frozen=True)
class Barriers:
    """Barrier parts of a fleet: per class the places of its items, their readiness, and the chance (vessels, DRAWS)
    that at least one of a boat's works."""

    places: Mapping[str, npt.NDArray[np.intp]]
    ready: Mapping[str, Readiness]
    working: Mapping[str, FloatArray]


def loss_averted(
    parts: ClassRisk,
    result: Outcomes,
    consequences: Consequences,
    barriers: Barriers,
    tools: tuple[Trade, Draws],
) -> Benefits:
    """Benefits (items, DRAWS) of a renewal and of a perfect look today.

    A part with paths of its own keeps ``kept`` of its loss after renewal, and a look finds the ``seen`` share of
    it. A barrier's worth is the boat's loss less its loss after the task.
    """
    renew = result.loss * (1.0 - parts.kept)
    look = result.loss * parts.seen
    trade, draws = tools
    for barrier in trade.barriers:
        loss = result.vessel_loss.get(barrier.end_state)
        if loss is None:
            continue
        for name in barrier.needs:
            if name not in barriers.places:
                continue
            here, ready = barriers.places[name], barriers.ready[name]
            boat = consequences.vessel[here]
            for benefit, dead in ((renew, ready.dead_renewed), (look, ready.dead_tested)):
                after = _with_part(barriers.working[name][boat], ready.dead, dead)
                share = _share_averted(barrier, name, (barriers.working, after, boat), draws)
                benefit[here] += loss[boat] * share
    # Work that would leave a boat worse off (a new part fails more than one that has proved itself) averts nothing.
    return Benefits(np.maximum(renew, 0.0), np.maximum(look, 0.0))


def _with_part(working: FloatArray, dead: FloatArray, dead_after: FloatArray) -> FloatArray:
    """Chance that any of the boat's parts of this class works once this one has been tested or renewed."""
    others = np.where(dead > 0, (1.0 - working) / np.maximum(dead, np.finfo(float).tiny), 0.0)
    after: FloatArray = 1.0 - np.minimum(others, 1.0) * dead_after
    return after


def _share_averted(
    barrier: Barrier,
    name: str,
    states: tuple[Mapping[str, FloatArray], FloatArray, npt.NDArray[np.intp]],
    draws: Draws,
) -> FloatArray:
    """Share of the boat's loss to this end state that goes when the class works as ``after`` says."""
    working, after, boat = states
    stops = stop_draws(barrier.barrier, barrier.stops_low, barrier.stops_high, draws)
    now = {need: working[need][boat] for need in barrier.needs if need in working}
    before = stopping(barrier, stops, now)
    share: FloatArray = 1.0 - stopping(barrier, stops, now | {name: after}) / np.maximum(before, 1e-12)
    return share
