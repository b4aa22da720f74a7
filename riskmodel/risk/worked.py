"""What an assessment becomes for planning: hire refunded, faults of new work charged, and losses once work is done."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.consequence import INJURY
from riskmodel.risk.after import outcomes_after
from riskmodel.risk.assess import Assessment
from riskmodel.risk.averted import Barriers, loss_averted
from riskmodel.risk.outcomes import Outcomes
from riskmodel.risk.tasks import Benefits
from riskmodel.risk.working import Readiness

# A lost day is the whole of it: the boat is not laid up for its downtime.
NUISANCE = "nuisance"
# Hire is by the week: what a failure costs where the boat's keeper has not said how long it is laid up (judgement).
HIRE_DAYS = 7.0
TINY = np.finfo(float).tiny


def with_refunds(result: Assessment) -> Assessment:
    """The same with hire paid back: boats with a ``day_rate`` lose it for each of their ``downtime_days``.

    Every end state that costs money stops the boat so long (core damage too: it is put right in a yard), but a
    nuisance, which is one lost day; an injury has no price. One week without a downtime of the boat's own.
    """
    boats = result.fleet.vessels
    day = boats.set_index("vessel_id")["day_rate"].astype(float).fillna(0.0)
    if not (day > 0).any():
        return result
    days = boats.set_index("vessel_id")["downtime_days"].astype(float).fillna(HIRE_DAYS)
    losses = result.losses.copy()
    rate, stopped = losses["vessel_id"].map(day), losses["vessel_id"].map(days)
    nuisance = losses["end_state"] == NUISANCE
    lost = stopped.where(~nuisance, stopped.clip(upper=1.0)).where(losses["end_state"] != INJURY, 0.0)
    for column in ("low", "high", "mean", "median", "p90"):
        losses[column] = losses[column] + rate * lost
    return replace(result, consequences=replace(result.consequences, losses=losses))


def early_failures(result: Assessment) -> FloatArray:
    """(items,) chance that any of a row's new parts has a fault of fitting or making that lets it go early."""
    share = result.trade.care["early_failure_share"].typical
    # Of several like parts only the one found bad is renewed; elsewhere each is.
    defect = (result.standing["defect"] != "").to_numpy()
    number = np.where(defect, 1.0, result.fleet.items["quantity"].to_numpy(dtype=float))
    chance: FloatArray = -np.expm1(number * np.log1p(-share))
    return chance


def with_early_failures(result: Assessment) -> Assessment:
    """The same where a new part may also have a fault of fitting or making: renewal keeps that much more."""
    early = early_failures(result)[:, None]
    drawn = np.maximum(result.parts.drawn, TINY)
    fresh = np.minimum(result.parts.kept * drawn, 1.0)
    kept = (fresh + early * (1.0 - fresh)) / drawn
    ready = {}
    for name, place in result.barriers.places.items():
        each = result.barriers.ready[name]
        dead = each.dead_renewed + early[place] * (1.0 - each.dead_renewed)
        ready[name] = Readiness(each.dead, each.dead_tested, dead)
    return _with(result, kept, ready)


def worth_of_work(result: Assessment) -> tuple[Benefits, Outcomes]:
    """What a renewal and a perfect look today avert, and how things stand with nothing done.

    For an assessment ``with_early_failures`` a renewal averts the loss of one failure times (chance now - chance new -
    share of early faults), draw by draw and never below 0.
    """
    items = len(result.fleet.items)
    now = outcomes_after(result, np.zeros(items, dtype=bool), np.zeros(items))
    return loss_averted(result.parts, now, result.consequences, result.barriers, result.trade), now


def outcomes_of_work(result: Assessment, renewed: FloatArray, finds: FloatArray) -> Outcomes:
    """End states and losses once work is done, some of it later, recomputed in full (after.outcomes_after).

    Parameters
    ----------
    renewed, finds : (items,)
        Share of what a renewal today would change that this one does (0 for none, less than 1 for one later on), and
        of what a perfect look today would find.
    """
    share = renewed[:, None]
    kept = 1.0 - share * (1.0 - np.minimum(result.parts.kept, 1.0))
    ready = {}
    for name, place in result.barriers.places.items():
        each = result.barriers.ready[name]
        # Work that leaves a barrier worse off is not done twice over: it changes nothing.
        better = np.minimum(each.dead_renewed, each.dead)
        dead = each.dead + share[place] * (better - each.dead)
        ready[name] = Readiness(each.dead, each.dead_tested, dead)
    return outcomes_after(_with(result, kept, ready), renewed > 0, finds)


def _with(result: Assessment, kept: FloatArray, ready: dict[str, Readiness]) -> Assessment:
    barriers = Barriers(result.barriers.places, ready, result.barriers.working)
    return replace(result, parts=replace(result.parts, kept=kept), barriers=barriers)
