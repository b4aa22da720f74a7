"""The steps from leaking exhaust to people in words and figures, for one part on its boat."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from riskmodel.consequence.carbon_monoxide import FUELS, cabins, engine_gas, steady_ppm, uptake_in_a_run
from riskmodel.consequence.exhaust_leaks import exhaust_modes
from riskmodel.consequence.quantities import drawn, drawn_share
from riskmodel.consequence.told import Line, middle, own_or_source, per_cent, source_of, two_figures
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

# A middle case under the limit must not be read as leave to run on.
GAS_INSIDE = (
    "Soot, exhaust smelt inside, or an alarm",
    "is no matter of chance: stop the engine, everybody into fresh air, and no run before it is found and mended",
    "common practice, no source; common practice",
)


def carbon_monoxide_steps(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> tuple[Line, ...]:
    """What, value and source of each step for the first of the kinds (columns of USES), at the middle scenario.

    Nothing for a boat without exhaust or a class that carries none.
    """
    row = kinds.iloc[0]
    rows = [leak for leak in trade.exhaust_leaks if leak.item_class == row["item_class"]]
    if row["fuel"] not in FUELS or not rows:
        return ()
    one = kinds.iloc[:1]
    return (*_of_boat(one, trade, cube), *_of_leaks(one, trade, cube), *_of_people(trade, cube), GAS_INSIDE)


def _of_boat(one: pd.DataFrame, trade: Trade, cube: Hypercube) -> Iterator[Line]:
    row = one.iloc[0]
    yield (
        "Carbon monoxide of the whole exhaust",
        f"{two_figures(middle(engine_gas(one, trade, cube)))} g an hour",
        source_of(f"co_{row['fuel']}_grams", trade),
    )
    yield (
        "Space people sit or sleep in",
        "an open boat: little gathers"
        if row["cabin_m3"] == 0
        else f"{two_figures(middle(cabins(one, trade, cube)))} m3",
        own_or_source(row["cabin_m3"], "co_cabin", trade),
    )
    changes = middle(drawn("co_air_changes", trade, cube))
    yield "Air changes under way", f"{two_figures(changes)} an hour", source_of("co_air_changes", trade)


def _of_leaks(one: pd.DataFrame, trade: Trade, cube: Hypercube) -> Iterator[Line]:
    name = str(one["item_class"].iloc[0])
    rows = [leak for leak in trade.exhaust_leaks if leak.item_class == name]
    for row, mode in zip(rows, exhaust_modes(name, trade, cube), strict=True):
        ppm = middle(steady_ppm(one, mode, trade, cube))
        bound = middle(uptake_in_a_run(one, mode, trade, cube))
        yield (
            f"{row.mode.capitalize()}, {per_cent(middle(mode.share))} of failures",
            f"{per_cent(middle(mode.gas))} of the gas escapes, {per_cent(middle(mode.inside))} of that comes inside: "
            f"{two_figures(ppm)} ppm in the end, {per_cent(bound)} of the blood bound after "
            f"{two_figures(middle(mode.minutes))} minutes in the middle case",
            f"{row.source}; {row.status}",
        )


def _of_people(trade: Trade, cube: Hypercube) -> Iterator[Line]:
    lines = (
        ("Too ill to help oneself from", "co_dangerous"),
        ("Running time that each person is below", "co_person_below"),
        ("An alarm that works and is heeded", "co_alarm_fitted"),
        ("Without one, nobody gets out in time", "co_unheeded"),
    )
    for what, quantity in lines:
        yield what, per_cent(middle(drawn_share(quantity, trade, cube))), source_of(quantity, trade)
