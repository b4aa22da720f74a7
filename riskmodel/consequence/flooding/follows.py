"""From an opening to a boat sunk, or spoilt, with nobody aboard or under way: P(end state | the part lets go)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.attendance import HOUR, nobody_comes, too_late, unnoticed
from riskmodel.consequence.flooding.boats import Boats, boats_of
from riskmodel.consequence.flooding.openings import Ways, ways_in
from riskmodel.consequence.flooding.pumps import pumps_of
from riskmodel.consequence.flooding.times import Times, times_to_spoil_and_sink
from riskmodel.consequence.follow import Follow
from riskmodel.consequence.quantities import drawn, drawn_share
from riskmodel.consequence.states import in_use
from riskmodel.hypercube import WIDTH_90, Hypercube
from riskmodel.trade import Trade

USES = (
    *(
        "item_class",
        "bore_mm",
        "depth_m",
        "open_to_sea",
        "length_m",
        "flooding_volume_m3",
        "hulls",
        "compartments",
    ),
    *("kept", "state", "visited_every_days", "shore_power", "battery_ah", "alarm_telemetry", "alarm_fitted"),
    *("propulsion", "self_draining", "covered"),
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
MINUTE = 60.0
# Chance (n, S, WAYS) that a state of the boat is reached in its time (n, S, WAYS), no alarm and with one.
Reached = Callable[[FloatArray], FloatArray]


def flooding_follows(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> dict[str, Follow]:
    """Sinking with nobody aboard, sinking under way, partial flooding and injury, for kinds with the columns of USES.

    The first barrier is the automatic pump, the second the high-water alarm; both hang on one battery. Methods:
    consequence; each step has its own module.
    """
    ways, boats = ways_in(kinds, trade, cube), boats_of(kinds, trade, cube)
    spoilt, sunk = times_to_spoil_and_sink(ways, boats, pumps_of(kinds, trade, cube))
    alone, alarmed = _at_berth(kinds, boats, trade, cube)
    crew = drawn("visit_crew_minutes", trade, cube)[:, None] * MINUTE
    woken = np.minimum(drawn("visit_crew_minutes_alarm", trade, cube)[:, None] * MINUTE, crew)
    lying = (ways.at_berth * ways.open * boats.afloat)[:, :, None]
    sailing = in_use(kinds).to_numpy()[:, None, None] * (1.0 - ways.at_berth)[:, :, None]

    def berth(times: Times) -> FloatArray:
        return lying * _by_barriers(ways, boats, times, (alone, alarmed), boats.cut)

    def under_way(times: Times) -> FloatArray:
        # The engine charges: the pump is on its battery at no time.
        answers = (lambda seconds: too_late(seconds, crew), lambda seconds: too_late(seconds, woken))
        return sailing * _by_barriers(ways, boats, times, answers, np.zeros_like(boats.cut))

    at_berth, at_sea = berth(sunk), under_way(sunk)
    wet = np.maximum(berth(spoilt) - at_berth, 0.0) + np.maximum(under_way(spoilt) - at_sea, 0.0)
    hurt = drawn_share("visit_hurt_sinking", trade, cube)[:, None]
    usual = np.ones((len(kinds), cube.count))
    return {
        "sinking_unattended": Follow(at_berth, usual),
        "sinking_under_way": Follow(at_sea, usual),
        "partial_flooding": Follow(wet, usual),
        "injury": Follow(at_sea * hurt, usual),
    }


def sinking_by_way(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S, WAYS) what each way in adds to P(sinking with nobody aboard | the part lets go), no barrier working."""
    ways, boats = ways_in(kinds, trade, cube), boats_of(kinds, trade, cube)
    _, sunk = times_to_spoil_and_sink(ways, boats, pumps_of(kinds, trade, cube))
    alone, _ = _at_berth(kinds, boats, trade, cube)
    lying = (ways.at_berth * ways.open * boats.afloat)[:, :, None]
    added: FloatArray = lying * ways.share * alone(sunk.alone)
    return added


def _at_berth(kinds: pd.DataFrame, boats: Boats, trade: Trade, cube: Hypercube) -> tuple[Reached, Reached]:
    """Chances that nobody comes in a time, without an alarm and with one that works."""
    spread = trade.physics["visit_spread"]
    log_sd = float(np.log(spread.high / spread.low) / WIDTH_90)
    sends = kinds["alarm_telemetry"].to_numpy(dtype=bool)[:, None]
    acted = np.where(
        sends,
        drawn_share("visit_message_acted_on", trade, cube),
        drawn_share("visit_alarm_heard", trade, cube),
    )
    hours = np.where(
        sends, drawn("visit_message_hours", trade, cube), drawn("visit_alarm_heard_hours", trade, cube)
    )
    # A boat said to send messages whose alarm is not in the list of parts has one all the same.
    unlisted = sends & ~kinds["alarm_fitted"].to_numpy(dtype=bool)[:, None]

    def quiet(seconds: FloatArray) -> FloatArray:
        unseen = unnoticed(seconds, boats.neighbours[:, :, None], boats.low[:, :, None])
        return nobody_comes(seconds, boats.visits[:, :, None], log_sd) * unseen

    def answered(seconds: FloatArray) -> FloatArray:
        late = too_late(seconds, (hours * HOUR)[:, :, None])
        return 1.0 - acted[:, :, None] * (1.0 - late)

    def alone(seconds: FloatArray) -> FloatArray:
        return quiet(seconds) * np.where(unlisted[:, :, None], answered(seconds), 1.0)

    return alone, lambda seconds: quiet(seconds) * answered(seconds)


def _by_barriers(
    ways: Ways, boats: Boats, times: Times, answers: tuple[Reached, Reached], on_battery: FloatArray
) -> FloatArray:
    """(n, S, BARRIER_STATES) chance over the ways in, by what works, with the one battery that feeds it all."""
    dead, clogs, cut = boats.dead, boats.clogs, on_battery

    def over_ways(reached: Reached, seconds: FloatArray) -> FloatArray:
        total: FloatArray = (ways.share * reached(seconds)).sum(axis=2)
        return total

    def pumped(reached: Reached, unpumped: FloatArray) -> FloatArray:
        runs = cut * over_ways(reached, times.battery) + (1.0 - cut) * over_ways(reached, times.mains)
        return (1.0 - clogs) * runs + clogs * unpumped

    quiet, heard = answers
    none, alarm = over_ways(quiet, times.alone), over_ways(heard, times.alone)
    live = none, pumped(quiet, none), alarm, pumped(heard, alarm)
    return np.stack([dead * none + (1.0 - dead) * state for state in live], axis=2)
