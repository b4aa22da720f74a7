"""The steps behind a fuel hose's fires: volumes, strengths of vapour and chances, by way of leaking."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.fire.compartment import compartments
from riskmodel.consequence.fire.course import course_of, lit
from riskmodel.consequence.fire.follows import FUELS, fuel_leaks, fuels, habits_of
from riskmodel.consequence.quantities import at_least_once
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade


def vapour_steps(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> pd.DataFrame:
    """One row a kind of fuel hose and way of leaking, in a space with the vents it has or the rules ask.

    Parameters
    ----------
    kinds : DataFrame
        n kinds with the columns USES; other classes, and boats without fuel, have no rows.

    Returns
    -------
    DataFrame
        ``kind`` (place in ``kinds``), ``mode, share, litres, space_m3, vent_cm2, blower_m3_min``; the vapour in
        parts of its lower flammable limit, ``waiting`` (strongest before the start), ``at_start``, ``cleared`` (after
        a working blower); ``minutes_flammable``; and ``chance, chance_cleared`` of a fire by this way, share not
        included. Medians over the scenarios, chances means. A median under the limit is no sign that a leak is safe.
    """
    rows: list[pd.DataFrame] = []
    burning = kinds["fuel"].isin(FUELS)
    for name in sorted({leak.item_class for leak in trade.fuel_leaks} & set(kinds["item_class"])):
        place = np.flatnonzero((burning & (kinds["item_class"] == name)).to_numpy())
        if len(place):
            rows += [frame.assign(kind=place) for frame in _of_class(kinds.iloc[place], trade, cube)]
    if not rows:
        return pd.DataFrame(columns=list(_COLUMNS))
    found = pd.concat(rows, ignore_index=True)[list(_COLUMNS)]
    return found.sort_values("kind", kind="stable", ignore_index=True)


_COLUMNS = (
    *("kind", "mode", "share", "litres", "space_m3", "vent_cm2", "blower_m3_min"),
    *("waiting", "at_start", "cleared", "minutes_flammable", "chance", "chance_cleared"),
)


def _of_class(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> list[pd.DataFrame]:
    space, fuel, habits = (
        compartments(kinds, trade, cube),
        fuels(kinds, trade, cube),
        habits_of(kinds, trade, cube),
    )
    frames = []
    for mode, leak in fuel_leaks(str(kinds["item_class"].iloc[0]), trade, cube).items():
        course = course_of(leak, fuel, space, space.natural, habits)
        still, works = (at_least_once(each, leak.occasions) for each in lit(course, leak, fuel, habits))
        columns = {
            "share": _middle(leak.share),
            "litres": _middle(leak.litres),
            "space_m3": _middle(space.volume),
            "vent_cm2": _middle(space.vent_area),
            "blower_m3_min": _middle(space.blower),
            "waiting": _middle(course.waiting / fuel.lower_limit),
            "at_start": _middle(course.at_start / fuel.lower_limit),
            "cleared": _middle(course.cleared / fuel.lower_limit),
            "minutes_flammable": _middle(course.minutes_flammable),
            "chance": still.mean(axis=1),
            "chance_cleared": works.mean(axis=1),
        }
        frames.append(pd.DataFrame(columns, index=range(len(kinds))).assign(mode=mode))
    return frames


def _middle(values: FloatArray) -> FloatArray:
    middle: FloatArray = np.median(values, axis=-1)
    return middle
