"""The steps from an opening to the chances, in words and figures, for one part on its boat."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.attendance import DAY, HOUR
from riskmodel.consequence.flooding.boats import Boats, boats_of
from riskmodel.consequence.flooding.follows import sinking_by_way
from riskmodel.consequence.flooding.inflow import inflow_rate
from riskmodel.consequence.flooding.openings import MODES, SIDES, SQUARE_MM, Ways, ways_in
from riskmodel.consequence.flooding.pumps import LITRES_A_MINUTE, Pumps, pumps_of
from riskmodel.consequence.flooding.times import Times, times_to_spoil_and_sink
from riskmodel.consequence.told import Line, middle, per_cent, source_of, two_figures
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade
from riskmodel.words import in_a_thousand

# Litres an hour in a cubic metre a second.
LITRES_AN_HOUR = 3.6e6


def flooding_steps(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> tuple[Line, ...]:
    """What, value and source of each step for the first of the kinds (columns of USES).

    Shares are means over the scenarios, times and sizes their middles: the answer is a mean over all of them, which no
    middle figures multiply out to, so each way in says what it adds.
    """
    ways, boats, pumps = (
        ways_in(kinds, trade, cube),
        boats_of(kinds, trade, cube),
        pumps_of(kinds, trade, cube),
    )
    _, sunk = times_to_spoil_and_sink(ways, boats, pumps)
    row = kinds.iloc[0]
    adds = sinking_by_way(kinds.iloc[[0]], trade, cube)[0].mean(axis=0)
    return (
        *_of_ways(row, ways, boats, (sunk, adds), trade),
        *_of_boat(row, boats, pumps, trade),
    )


def _of_ways(
    row: pd.Series, ways: Ways, boats: Boats, found: tuple[Times, FloatArray], trade: Trade
) -> Iterator[Line]:
    sunk, adds = found
    source = next(
        f"{each.source}; {each.status}" for each in trade.openings if each.item_class == row["item_class"]
    )
    coming = inflow_rate(ways.area, ways.depth[:, :, None], boats.coefficient[:, :, None])
    pumped = sunk.mains if row["shore_power"] else sunk.battery
    for number, mode in enumerate(MODES):
        sides = slice(number * len(SIDES), (number + 1) * len(SIDES))
        share, area = ways.share[0, :, sides].sum(axis=1), ways.area[0, :, sides]
        if not share.any():
            continue
        flow = middle(coming[0, :, sides]) * LITRES_AN_HOUR
        hole = f"{two_figures(middle(area) / SQUARE_MM)} mm2 at {two_figures(middle(ways.depth[0]))} m, {_litres(flow)}"
        dry, wet = (_lasting(middle(each[0, :, sides])) for each in (sunk.alone, pumped))
        yield (
            f"{mode.capitalize()}, {per_cent(float(share.mean()))} of failures",
            f"{hole}: goes down {dry} with no pump, {wet} with one; adds "
            f"{in_a_thousand(float(adds[sides].sum()))} in 1,000 to sinking with nobody aboard",
            source,
        )
    yield (
        "Begins with nobody aboard",
        f"{per_cent(float(ways.at_berth[0].mean()))} of failures; "
        f"open to the sea then {per_cent(float(ways.open[0].mean()))}",
        source,
    )


def _of_boat(row: pd.Series, boats: Boats, pumps: Pumps, trade: Trade) -> Iterator[Line]:
    own, cube_count = not np.isnan(float(row["flooding_volume_m3"])), boats.volume.shape[1]
    berth = "mooring" if row["kept"] == "mooring" else "afloat"
    yield (
        "How to read these",
        f"shares are means and sizes middles over {cube_count} scenarios of all that is not known; the chances above "
        "are means over them, which middle figures do not multiply out to",
        "the method; judgement",
    )
    yield (
        "Water to going down",
        f"{two_figures(middle(boats.volume[0]))} m3",
        "your vessels table" if own else source_of("flooding_volume_per_cubic_metre", trade),
    )
    flow, amperes = middle(pumps.flow[0]) * LITRES_A_MINUTE, middle(pumps.amperes[0])
    yield (
        "Automatic pump, as installed",
        f"throws {flow:.0f} L/min, draws {two_figures(amperes)} A from {pumps.battery_ah[0, 0]:.0f} Ah",
        "its label, less head, bends and valve"
        if not np.isnan(row["pump_lpm"])
        else source_of("flooding_pump_lpm_per_metre", trade),
    )
    yield (
        "Battery dead when called on",
        per_cent(float(boats.dead[0].mean())),
        source_of(f"flooding_battery_dead_{'charged' if row['shore_power'] else 'alone'}", trade),
    )
    yield (
        "Pump clogs before the leak is found",
        per_cent(float(boats.clogs[0].mean())),
        source_of("flooding_pump_clogs", trade),
    )
    yield (
        "Pump lives on its battery alone",
        per_cent(float(boats.cut[0].mean())),
        source_of("flooding_power_cut", trade),
    )
    yield (
        "Somebody comes",
        f"every {two_figures(middle(boats.visits[0]) / DAY)} days; neighbours notice a boat lying low on "
        f"{per_cent(float(boats.neighbours[0].mean()))} of days",
        "your vessels table or its default; " + source_of(f"visit_neighbours_a_day_{berth}", trade),
    )
    if middle(boats.afloat[0]) < 1:
        yield (
            "Lies afloat unattended",
            f"{per_cent(float(boats.afloat[0].mean()))} of the season",
            source_of("visit_trailer_afloat_share", trade),
        )


def _litres(per_hour: float) -> str:
    return (
        f"{two_figures(per_hour)} L an hour"
        if per_hour < 1000
        else f"{two_figures(per_hour / 60)} L a minute"
    )


def _lasting(seconds: float) -> str:
    if not np.isfinite(seconds):
        return "never"
    if seconds > 2 * DAY:
        return f"in {two_figures(seconds / DAY)} days"
    return f"in {two_figures(seconds / HOUR)} hours"
