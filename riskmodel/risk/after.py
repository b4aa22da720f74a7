"""The fleet's losses once some work is done: recomputed in full, not added up from single benefits."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.risk.assess import Assessment
from riskmodel.risk.draws import Draws
from riskmodel.risk.outcomes import Outcomes, outcomes
from riskmodel.risk.working import any_working


def outcomes_after(result: Assessment, renewed: npt.NDArray[np.bool_], finds: FloatArray) -> Outcomes:
    """End states and losses once some parts are renewed and others looked at, today.

    Parameters
    ----------
    renewed : (items,)
        True where the part is renewed; it keeps ``kept`` of its chance.
    finds : (items,)
        Share that the look at each part finds of what a perfect look would: 0 for no look. What it finds is renewed.
    """
    parts = result.parts
    left = np.where(renewed[:, None], np.minimum(parts.kept, 1.0), 1.0 - finds[:, None] * parts.seen)
    chance = np.minimum(parts.drawn * np.maximum(left, 0.0), 1.0)
    working = {}
    for name, place in result.barriers.places.items():
        ready = result.barriers.ready[name]
        looked = ready.dead + finds[place, None] * (ready.dead_tested - ready.dead)
        dead = np.where(renewed[place, None], ready.dead_renewed, looked)
        consequences = result.consequences
        working[name] = any_working(dead, consequences.vessel[place], consequences.vessels)
    return outcomes(chance, result.consequences, working, result.trade, Draws(result.seed))


def vessel_losses_of(result: Assessment, found: Outcomes) -> FloatArray:
    """Mean expected loss (vessels,) over the horizon: its parts' and what no part brings about."""
    vessel = result.consequences.vessel
    parts: FloatArray = np.bincount(
        vessel, weights=found.loss.mean(axis=1), minlength=result.consequences.vessels
    ).astype(float)
    return parts + found.background_loss
