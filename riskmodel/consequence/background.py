"""What sinks boats whatever their parts do: rain, snow and waves over a low transom, and the pump that holds them off.

They are stated so that the parts' share of all sinkings is honest, and so that a pump's worth counts them too.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.attendance import DAY, HOUR
from riskmodel.consequence.flooding.battery import endurance
from riskmodel.consequence.flooding.boats import Boats, boats_of
from riskmodel.consequence.flooding.pumps import Pumps, pumps_of
from riskmodel.consequence.flooding.rain import MILLIMETRE, open_deck, share_below, share_past_cover
from riskmodel.consequence.follow import BARRIER_STATES, scenarios
from riskmodel.consequence.quantities import drawn, drawn_share, share_over
from riskmodel.consequence.states import over_states, summed_over_states
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade
from riskmodel.trade.physics import BackgroundCause

USES = (
    *("length_m", "flooding_volume_m3", "hulls", "compartments", "kept", "state", "visited_every_days"),
    *("shore_power", "battery_ah", "climate", "low_transom", "self_draining", "covered", "propulsion"),
    *(
        "pump_lpm",
        "pump_head_m",
        "pump_shut_off_m",
        "pump_bends",
        "pump_check_valve",
        "pump_amps",
        "pump_hose_m",
    ),
)
WEEK_DAYS = 7.0
# With the pump working the state's number has this bit; the alarm's bit changes nothing: it calls about a leak too.
PUMP_BIT = 1


def background_rates(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> dict[str, FloatArray]:
    """Sinkings and partial floodings a year that no part brings about, (n, S, BARRIER_STATES), for kinds of boat.

    Each cause comes so many times a year with so much water; what is over the volume at which a boat low by the stern
    goes down sinks it (log-logistic over single events), less what a working pump throws out while it lasts.
    """
    boats, pumps = boats_of(kinds, trade, cube), pumps_of(kinds, trade, cube)
    shape = len(kinds), cube.count, BARRIER_STATES
    sunk, spoilt = np.zeros(shape), np.zeros(shape)
    spread = drawn("background_spread", trade, cube)
    low = drawn_share("background_going_down_share", trade, cube)
    for cause in trade.background:
        events, water = _events(kinds, cause, boats, trade, cube)
        held = _pumped(water, boats, pumps, trade, cube)
        for state in range(BARRIER_STATES):
            left = np.where(state & PUMP_BIT, np.maximum(water - held, 0.0), water)
            down = _rate(share_over(left, boats.sinking_volume * low, spread))
            wet = _rate(share_over(left, boats.volume * boats.partial, spread))
            sunk[:, :, state] += events * down
            spoilt[:, :, state] += events * np.maximum(wet - down, 0.0)
    # A dead battery or a clogged strainer is a pump that does not work.
    works = ((1.0 - boats.dead) * (1.0 - boats.clogs))[:, :, None]
    return {
        name: rate[:, :, [0, 0, 2, 2]] + works * (rate - rate[:, :, [0, 0, 2, 2]])
        for name, rate in (("sinking_unattended", sunk), ("partial_flooding", np.maximum(spoilt, 0.0)))
    }


def background_of_boats(
    boats: pd.DataFrame, year: pd.DataFrame, years: float, trade: Trade
) -> dict[str, FloatArray]:
    """Chance (boats, S, BARRIER_STATES) by end state that the background brings it about within ``years``.

    ``boats``: one row a boat with its pump (``boats_with_pumps``); ``year``: its shares of the horizon.
    """
    spread = over_states(boats, year)
    kind = spread.groupby(list(USES), sort=False, dropna=False).ngroup().to_numpy().astype(np.intp)
    first = np.unique(kind, return_index=True)[1]
    kinds = spread.loc[first, list(USES)].reset_index(drop=True)
    start = np.unique(spread["item"].to_numpy(), return_index=True)[1]
    share = spread["share"].to_numpy(dtype=float)
    return {
        name: -np.expm1(-years * summed_over_states(rate, kind, share, start))
        for name, rate in background_rates(kinds, trade, scenarios()).items()
    }


def _rate(chance: FloatArray) -> FloatArray:
    """The rate of events that each bring it about with ``chance``: it is sure over a year of sure ones, however few."""
    rate: FloatArray = -np.log1p(-np.minimum(chance, 1.0 - 1e-15))
    return rate


def _events(
    kinds: pd.DataFrame, cause: BackgroundCause, boats: Boats, trade: Trade, cube: Hypercube
) -> tuple[FloatArray, FloatArray]:
    """Events a year and water [m3] in the middle one that finds its way below, (n, S)."""
    low, high = np.array([cause.events_per_year_low]), np.array([cause.events_per_year_high])
    events = cube.between(f"background/{cause.cause}/events", low, high) * boats.afloat
    low, high = np.array([cause.water_mm_low]), np.array([cause.water_mm_high])
    depth = cube.between(f"background/{cause.cause}/water", low, high) * MILLIMETRE
    if cause.gathers:
        weeks = boats.visits / DAY / WEEK_DAYS
        events, depth = events / weeks, depth * weeks
    if cause.column:
        met = kinds[cause.column].map(_word).to_numpy() == cause.level
        events = np.where(met[:, None], events, 0.0)
    entering = share_below(kinds, trade, cube)
    # A wave does not ask whether there is a cover.
    if cause.column != "low_transom":
        entering = entering * share_past_cover(kinds, trade, cube)
    return events, depth * open_deck(kinds, trade, cube) * entering


def _pumped(water: FloatArray, boats: Boats, pumps: Pumps, trade: Trade, cube: Hypercube) -> FloatArray:
    """Water [m3] that the pump throws out while an event lasts and its battery does."""
    seconds = drawn("background_hours", trade, cube) * HOUR
    lasts = endurance(water / seconds, pumps.flow, pumps.battery_ah, pumps.amperes)
    alone = pumps.flow * np.minimum(lasts, seconds)
    thrown: FloatArray = boats.cut * alone + (1.0 - boats.cut) * pumps.flow * seconds
    return thrown


def _word(value: object) -> str:
    return {"True": "yes", "False": "no"}.get(str(value), str(value))
