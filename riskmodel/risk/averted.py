"""Loss averted by renewing or looking at each part; for a barrier, what its boat is then worth less to the sea."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.risk.class_risk import ClassRisk
from riskmodel.risk.outcomes import Consequences, Outcomes
from riskmodel.risk.tasks import Benefits
from riskmodel.risk.working import Readiness
from riskmodel.trade import Trade


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
    trade: Trade,
) -> Benefits:
    """Benefits (items, DRAWS) of a renewal and of a perfect look today.

    A part with paths of its own keeps ``kept`` of its loss after renewal, and a look finds the ``seen`` share of
    it. A barrier's worth is the boat's loss less its loss after the task: what follows is linear in the chance that
    the barrier works, so that is the rise of this chance times ``guards``.
    """
    renew = result.loss * (1.0 - parts.kept)
    look = result.loss * parts.seen
    for barrier in trade.barriers:
        averts = result.guards.get((barrier.barrier, barrier.end_state))
        if averts is None:
            continue
        for name in barrier.needs:
            if name not in barriers.places:
                continue
            here, ready = barriers.places[name], barriers.ready[name]
            boat = consequences.vessel[here]
            others = _others(barrier.needs, name, barriers.working)
            for benefit, dead in ((renew, ready.dead_renewed), (look, ready.dead_tested)):
                now = barriers.working[name][boat]
                gained = _with_part(now, ready.dead, dead) - now
                benefit[here] += averts[boat] * others[boat] * gained
    # Work that would leave a boat worse off (a new part fails more than one that has proved itself) averts nothing.
    return Benefits(np.maximum(renew, 0.0), np.maximum(look, 0.0))


def _with_part(working: FloatArray, dead: FloatArray, dead_after: FloatArray) -> FloatArray:
    """Chance that any of the boat's parts of this class works once this one has been tested or renewed."""
    others = np.where(dead > 0, (1.0 - working) / np.maximum(dead, np.finfo(float).tiny), 0.0)
    after: FloatArray = 1.0 - np.minimum(others, 1.0) * dead_after
    return after


def _others(needs: tuple[str, ...], name: str, working: Mapping[str, FloatArray]) -> FloatArray:
    """(vessels, DRAWS) chance that all else the barrier needs works; 0 where some of it is not fitted."""
    ready = np.ones_like(working[name])
    for other in needs:
        if other != name:
            ready = ready * working.get(other, 0.0)
    return ready
