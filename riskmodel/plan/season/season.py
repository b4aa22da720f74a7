"""One boat's coming season: what may happen month by month, beside a typical boat, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from difflib import get_close_matches

import numpy as np
import pandas as pd

from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.fleet import Fleet
from riskmodel.frames import rare_collection
from riskmodel.plan.season.bands import band_of, boat_draws
from riskmodel.plan.season.months import chances_by_month, month_ends
from riskmodel.plan.season.typical import learn_with_typical, typical_id
from riskmodel.risk import Assessment, Horizon, coming_season
from riskmodel.risk.assess import assess_learned
from riskmodel.risk.learned import only_boats
from riskmodel.risk.outcomes import SINKING

ANY_SINKING = "sinking"


@dataclass(frozen=True)
class Season:
    """A boat's time ahead.

    ``result``: the boat, assessed alone with lives learned from the whole fleet; ``typical``: a typical boat beside
    it. ``months``: one row a month with ``start, end`` (the day after its last) and a column an end state, chances in
    that month. ``totals``: one row an end state, with ``chance, low, high`` (90 %) over the whole time and the same of
    the typical boat (``typical, typical_low, typical_high``), ``can_kill``, ``label``; after them both sinkings
    together as "sinking".
    """

    result: Assessment
    typical: Assessment
    months: pd.DataFrame
    totals: pd.DataFrame

    @property
    def vessel_id(self) -> str:
        """The boat's id."""
        return str(self.result.fleet.vessels["vessel_id"].iloc[0])

    @property
    def horizon(self) -> Horizon:
        """From when to when."""
        return self.result.horizon


@rare_collection()
def season_of(fleet: Fleet, vessel_id: str, until: Horizon | None = None, *, seed: int = 1) -> Season:
    """The coming season of one boat of a fleet.

    Parameters
    ----------
    fleet : Fleet
    vessel_id : str
    until : Horizon, optional
        To when; the end of that boat's own coming season when left out.
    seed : int
        Of the draws behind the bands.

    Raises
    ------
    TableError
        When the fleet has no such boat (the nearest id is named), or it was sold.
    ParameterError
        When the horizon starts on another day than the fleet's.
    """
    refuse_unknown(fleet, vessel_id)
    if until is not None and until.as_of != fleet.as_of:
        raise ParameterError(f"the horizon must start on the fleet's day, {fleet.as_of}, got {until.as_of}")
    learned = learn_with_typical(fleet, vessel_id)
    if vessel_id not in set(learned.fleet.vessels["vessel_id"]):
        raise _refusal(fleet, "must be a boat still owned: this one was sold", vessel_id)
    mine, other = (only_boats(learned, frozenset({name})) for name in (vessel_id, typical_id(vessel_id)))
    horizon = until or own_season(mine.fleet)
    result, typical = (assess_learned(each, horizon, seed=seed) for each in (mine, other))
    ends = month_ends(horizon)
    months = chances_by_month(result, ends)
    months.insert(0, "start", [horizon.as_of, *ends[:-1]])
    months.insert(1, "end", list(ends))
    return Season(result, typical, months, _totals(result, typical))


def own_season(fleet: Fleet) -> Horizon:
    """To the end of the coming season of a fleet of one boat, by its own season, which settings.toml has filled."""
    return coming_season(
        replace(fleet, settings=replace(fleet.settings, season_start="", season_end="")), fleet.as_of
    )


def refuse_unknown(fleet: Fleet, vessel_id: str) -> None:
    """Raises TableError unless the fleet has this boat; the nearest id is named."""
    known = list(fleet.vessels["vessel_id"])
    if vessel_id in known:
        return
    folded = {name.casefold(): name for name in known}
    near = get_close_matches(vessel_id.casefold(), list(folded), n=1, cutoff=0.0)
    hint = f"; the nearest is {folded[near[0]]}" if near else ""
    raise _refusal(fleet, f"must be one of the fleet's boats{hint}", vessel_id)


def _refusal(fleet: Fleet, rule: str, vessel_id: str) -> TableError:
    return TableError([Problem(fleet.source, 0, "vessel_id", rule, vessel_id)])


def _totals(result: Assessment, typical: Assessment) -> pd.DataFrame:
    names = [
        name
        for name in result.trade.end_states
        if any(name in each.chances or name in each.background for each in (result, typical))
    ]
    rows = [_total(name, (name,), result, typical) for name in names]
    rows.append(_total(ANY_SINKING, SINKING, result, typical))
    return pd.DataFrame(rows)


def _total(name: str, states: tuple[str, ...], result: Assessment, typical: Assessment) -> dict[str, object]:
    state = result.trade.end_states.get(name)
    row: dict[str, object] = {
        "end_state": name,
        "label": state.label if state else "sinking, at rest or under way",
        "can_kill": bool(state and state.can_kill),
    }
    for prefix, each in (("", result), ("typical_", typical)):
        draws = np.minimum(sum((boat_draws(each, state) for state in states), np.zeros(1)), 1.0)
        row[prefix.rstrip("_") or "chance"] = float(draws.mean())
        row[f"{prefix}low"], row[f"{prefix}high"] = band_of(draws)
    return row
