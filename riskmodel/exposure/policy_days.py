"""What of each boat's days her policy is on risk, by end state: its days, less those of a warranted lay-up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.states import afloat, in_use
from riskmodel.exposure.on_risk import Mask, laid_up, on_policy, share_of_days
from riskmodel.fleet import Fleet, states_by_day
from riskmodel.fleet.month_days import numbers_of
from riskmodel.risk import Horizon
from riskmodel.trade import Trade
from riskmodel.trade.severity import AFLOAT, ANY_DAY, IN_USE

# Days of boats worked on at once.
AT_ONCE = 2**22


class Insured(Protocol):
    """Boats over a stretch of time: an assessment, or as much of one as terms ask for."""

    @property
    def fleet(self) -> Fleet:
        """The boats."""
        ...

    @property
    def horizon(self) -> Horizon:
        """The stretch of time."""
        ...

    @property
    def trade(self) -> Trade:
        """The knowledge base."""
        ...


def shares_on_risk(result: Insured, states: Sequence[str]) -> FloatArray:
    """(n, K) share of the days each end state can happen on that a boat's policy covers it, over the horizon.

    On such days chances count alike: an end state of boats in use is spread over the days in use (``periods``), so a
    policy that lapses with the season loses nothing. ``end_states.csv`` says which days, and what a lay-up leaves out.
    """
    found = np.ones((len(result.fleet.vessels), len(states)))
    days = _days(result)
    for some, fleet in _timed(result, len(days)):
        on, away = _on_and_away(fleet, days)
        possible = _possible(fleet, days)
        for place, name in enumerate(states):
            state = result.trade.end_states[name]
            covered = on if state.covered_laid_up else on & ~away
            found[some, place] = share_of_days(covered, possible[state.happens])
    return found


def policy_days(result: Insured) -> pd.DataFrame:
    """By ``vessel_id``: shares of the horizon's days on which the policy is on risk, ``on_risk``, and on which the boat
    is laid up under it, ``laid_up``."""
    vessels, days = result.fleet.vessels, _days(result)
    frame = pd.DataFrame({"vessel_id": vessels["vessel_id"], "on_risk": 1.0, "laid_up": 0.0})
    for some, fleet in _timed(result, len(days)):
        on, away = _on_and_away(fleet, days)
        frame.loc[some, "on_risk"], frame.loc[some, "laid_up"] = on.mean(axis=1), (on & away).mean(axis=1)
    return frame


def _days(result: Insured) -> npt.NDArray[np.datetime64]:
    days: npt.NDArray[np.datetime64] = np.arange(
        np.datetime64(result.horizon.as_of, "D"), np.datetime64(result.horizon.until, "D")
    )
    return days


def _timed(result: Insured, days: int) -> Iterator[tuple[npt.NDArray[np.intp], Fleet]]:
    """A few boats at a time whose policies say when: their places, and the fleet of them alone."""
    fleet = result.fleet
    vessels = fleet.vessels
    dated = vessels[["inception", "expiry"]].notna().any(axis=1)
    timed = np.flatnonzero(dated | vessels["lay_up_from"].ne(""))
    width = max(AT_ONCE // days, 1)
    for start in range(0, len(timed), width):
        some = timed[start : start + width]
        yield some, replace(fleet, vessels=vessels.iloc[some].reset_index(drop=True))


def _on_and_away(fleet: Fleet, days: npt.NDArray[np.datetime64]) -> tuple[Mask, Mask]:
    vessels = fleet.vessels
    on = on_policy(vessels["inception"].to_numpy(), vessels["expiry"].to_numpy(), days)
    return on, laid_up(vessels["lay_up_from"].tolist(), vessels["lay_up_to"].tolist(), days)


def _possible(fleet: Fleet, days: npt.NDArray[np.datetime64]) -> dict[str, Mask]:
    """(n, m) whether each boat is in use, and afloat, on each of ``days`` (m,)."""
    names, by_day = states_by_day(fleet)
    kept, places = pd.factorize(fleet.vessels["kept"])
    pairs = pd.MultiIndex.from_product([places, names], names=["kept", "state"]).to_frame(index=False)
    here = by_day[:, numbers_of(days)]
    masks = {
        name: holds(pairs).to_numpy(dtype=bool).reshape(len(places), len(names))[kept[:, None], here]
        for name, holds in {IN_USE: in_use, AFLOAT: afloat}.items()
    }
    return masks | {ANY_DAY: np.ones(here.shape, dtype=bool)}
