"""Boats of a schedule that one place holds together: what lies there, and what would befall all of them at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.accumulation import SINKING
from riskmodel.exposure.schedule.exposed import ScheduleExposure
from riskmodel.exposure.schedule.risks import KindRisks, kind_risks
from riskmodel.exposure.schedule.segments import PLACE, schedule_segments
from riskmodel.exposure.schedule.standing_for import some_kinds
from riskmodel.exposure.spells import Scenario, scenarios_of
from riskmodel.risk import Horizon

# Kinds that scenarios are worked out for, at about 15 ms each: those of the largest places, all of the first one's.
MOST_STRUCK = 400


def schedule_places(found: ScheduleExposure) -> pd.DataFrame:
    """The places where most value lies together, as exposure.accumulation has them.

    Scenarios are worked out for the largest places only, and are NaN for the others. A boat that does not say where it
    lies is of no place.
    """
    frame = schedule_segments(found, PLACE).rename(columns={"segment": "place", "after": "mean"})
    frame = frame[["place", "boats", "value", "mean"]]
    frame = frame.sort_values(["value", "place"], ascending=[False, True], kind="stable", ignore_index=True)
    struck, boats = _largest(found, frame["place"])
    rows = np.unique(np.concatenate([row for row, _ in boats])) if boats else np.zeros(0, dtype=np.intp)
    for scenario in scenarios_of(found.result.trade) if boats else ():
        columns = _scenario(found, scenario, (rows, boats))
        for name, values in columns.items():
            whole = np.full(len(frame), np.nan)
            whole[struck] = values
            frame[name] = whole
    return frame


def _largest(
    found: ScheduleExposure, places: pd.Series
) -> tuple[list[int], list[tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]]]:
    """Places in order of value as long as few kinds are in them: their numbers, and rows and groups of their boats."""
    boats = found.counted.boats
    of_port = {name: place for place, name in enumerate(boats.ports)}
    struck: list[int] = []
    members = []
    rows: set[int] = set()
    for number, name in enumerate(places):
        if name not in of_port:
            continue
        here = np.flatnonzero(boats.port == of_port[name])
        row = found.priced.row[here].astype(np.intp)
        more = rows | set(row.tolist())
        if struck and len(more) > MOST_STRUCK:
            break
        rows = more
        struck.append(number)
        members.append((row, found.priced.group[here].astype(np.intp)))
    return struck, members


def _scenario(
    found: ScheduleExposure,
    scenario: Scenario,
    who: tuple[npt.NDArray[np.intp], Sequence[tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]]],
) -> dict[str, list[float]]:
    """Losses and sinkings at each place over the scenario's days, with and without it."""
    rows, boats = who
    as_of = found.result.horizon.as_of
    horizon = Horizon(as_of, as_of + timedelta(days=max(round(scenario.days), 1)), "a scenario")
    kinds = some_kinds(found.kinds, rows)
    fleet = scenario.change(kinds.learned.fleet)
    other = replace(kinds, learned=replace(kinds.learned, fleet=fleet))
    place = np.full(len(found.kinds.kind), -1)
    place[rows] = np.arange(len(rows))
    # What one loss costs after terms is that of the year, as much dearer as it grows with the time undetected.
    paid, usual = _paid(found), found.risks.dearer[rows]
    columns: dict[str, list[float]] = {}
    for name, each in {scenario.name: other, f"{scenario.name}_usual": kinds}.items():
        risks = kind_risks(each, horizon, found.risks.states, found.result.seed)
        chance = risks.mean_chance
        lost = chance * risks.dearer / usual
        told = name.replace(scenario.name, f"{scenario.name}_sinkings")
        columns[name] = [float((lost[place[row]] * paid[group]).sum()) for row, group in boats]
        columns[told] = [float(_sinking(risks, chance)[place[row]].sum()) for row, _ in boats]
    return columns


def _paid(found: ScheduleExposure) -> FloatArray:
    """(rows of the book, K) mean payout after terms of one loss."""
    expected = found.book.chance.mean(axis=2) * found.book.count[:, None]
    mean = found.after.mean
    paid: FloatArray = np.divide(mean, expected, out=np.zeros_like(mean), where=expected > 0)
    return paid


def _sinking(risks: KindRisks, chance: FloatArray) -> FloatArray:
    if SINKING not in risks.states:
        return np.zeros(len(chance))
    sinking: FloatArray = chance[:, risks.states.index(SINKING)]
    return sinking
