"""The steps from a fuel leak to a fire in words and figures, for one part on its boat."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from riskmodel.consequence.fire.follows import FUELS, RISER
from riskmodel.consequence.fire.steps import vapour_steps
from riskmodel.consequence.quantities import drawn, drawn_share
from riskmodel.consequence.told import Line, about_in, middle, own_or_source, per_cent, source_of, two_figures
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

# 33 CFR 183.630(d), whose text was read, and 183.610, which was not.
VENTS_AS_ASKED = "33 CFR 183.630(d): the least the rule asks; published"
BLOWER_AS_ASKED = "33 CFR 183.610 Table: the least the rule asks; from memory"

# A middle case under the limit must not be read as leave to start.
FUEL_SMELT = (
    "Fuel that is smelt or seen",
    "is no matter of chance: no start, no switch, no flame; everybody off, air the space, have it found and mended",
    "common practice, no source; common practice",
)


def fire_steps(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> tuple[Line, ...]:
    """What, value and source of each step for the first of the kinds (columns of USES), at the middle scenario.

    Nothing for a boat without fuel or a class that carries none.
    """
    row = kinds.iloc[0]
    if row["fuel"] not in FUELS:
        return ()
    if row["item_class"] == RISER:
        return tuple(_of_riser(trade, cube))
    steps = vapour_steps(kinds.iloc[:1], trade, cube)
    if steps.empty:
        return ()
    return (
        *_of_space(row, steps.iloc[0], trade),
        *_of_leaks(steps, row, trade),
        *_of_starts(row, trade, cube),
        FUEL_SMELT,
    )


def _of_space(row: pd.Series, step: pd.Series, trade: Trade) -> Iterator[Line]:
    yield (
        "Space it leaks into",
        f"{two_figures(step['space_m3'])} m3",
        own_or_source(row["engine_space_m3"], "fire_engine_space", trade),
    )
    yield (
        "Natural vents",
        f"{two_figures(step['vent_cm2'])} cm2",
        VENTS_AS_ASKED if pd.isna(row["vent_area_cm2"]) else "your vessels table",
    )
    yield (
        "Blower, what leaves the boat",
        f"{two_figures(step['blower_m3_min'])} m3 a minute: {_changes(step)} air changes in an hour",
        BLOWER_AS_ASKED if pd.isna(row["blower_flow_lpm"]) else "your vessels table, less ducts and grilles",
    )


def _of_leaks(steps: pd.DataFrame, row: pd.Series, trade: Trade) -> Iterator[Line]:
    source = next(
        f"{leak.source}; {leak.status}" for leak in trade.fuel_leaks if leak.item_class == row["item_class"]
    )
    for _, step in steps.iterrows():
        standing, cleared = (f"{two_figures(step[name])} times" for name in ("at_start", "cleared"))
        yield (
            f"{step['mode'].capitalize()}, {per_cent(step['share'])} of failures",
            f"{two_figures(step['litres'])} L: vapour at a start in the middle case {standing} what burns, "
            f"{cleared} after the blower; fire in {about_in(step['chance'])}, {about_in(step['chance_cleared'])} "
            "with a blower that works",
            source,
        )


def _of_starts(row: pd.Series, trade: Trade, cube: Hypercube) -> Iterator[Line]:
    run = drawn_share("fire_blower_share", trade, cube), drawn("fire_blower_minutes", trade, cube)
    yield (
        "Blower run before a start",
        f"in {per_cent(middle(run[0]))} of starts, for {two_figures(middle(run[1]))} minutes; it does not clear liquid",
        source_of("fire_blower_share", trade),
    )
    sparks = (
        ("A start in flammable vapour sets it off", "fire_spark_at_start"),
        ("Liquid on a hot or sparking part burns", f"fire_{row['fuel']}_hot_lights"),
    )
    for what, quantity in sparks:
        yield what, about_in(middle(drawn_share(quantity, trade, cube))), source_of(quantity, trade)


def _of_riser(trade: Trade, cube: Hypercube) -> Iterator[Line]:
    hot = middle(drawn_share("fire_riser_leaks_hot", trade, cube))
    yield "Lets hot gas out or runs the hose dry", per_cent(hot), source_of("fire_riser_leaks_hot", trade)
    lights = middle(drawn_share("fire_riser_lights", trade, cube))
    yield "What lies about it burns", about_in(lights), source_of("fire_riser_lights", trade)


def _changes(step: pd.Series) -> str:
    return two_figures(60.0 * step["blower_m3_min"] / step["space_m3"])
