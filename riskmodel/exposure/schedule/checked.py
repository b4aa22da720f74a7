"""Checks a schedule that is too large to be loaded, and says what stands in where it is silent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from riskmodel.exposure.schedule.boats import Schedule
from riskmodel.exposure.schedule.groups import Groups
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.running import Runner
from riskmodel.exposure.schedule.whole_book import Tell
from riskmodel.fleet.defaults import TRACE_COLUMNS, Default, read_defaults, season_defaults


@dataclass(frozen=True, eq=False)
class CheckedSchedule:
    """A schedule without a problem: how many ``boats`` and ``parts``; the rest as in Fleet, ``defaulted`` of boats."""

    boats: int
    parts: int
    as_of: date
    as_of_from: str
    defaulted: pd.DataFrame
    notes: tuple[str, ...]
    source: str


def check_schedule(schedule: Schedule, run: Runner, tell: Tell) -> CheckedSchedule:
    """What a schedule holds, every row of it checked.

    Raises
    ------
    TableError
        With every broken row.
    """
    counted = read_schedule(schedule, run, tell)
    settings = schedule.bounds.settings
    defaults = (*season_defaults(settings), *read_defaults(settings.trade_folder))
    return CheckedSchedule(
        boats=len(counted.listed),
        parts=counted.parts,
        as_of=schedule.as_of,
        as_of_from=schedule.as_of_from,
        defaulted=_defaulted(counted.boats.kinds, defaults),
        notes=counted.notes,
        source=schedule.folder.resolve().name,
    )


def _defaulted(kinds: Groups, defaults: Sequence[Default]) -> pd.DataFrame:
    """The trace of what fills how many boats: kinds are told apart by what is not said, so that it is exact."""
    means = kinds.means
    open_cells = {name: (means[name].isna() | means[name].eq("")).to_numpy() for name in means.columns}
    counts: Counter[tuple[str, str, str, str]] = Counter()
    for each in (each for each in defaults if each.table == "vessels"):
        of_it = means["propulsion"].eq(each.propulsion).to_numpy() | (each.propulsion == "any")
        where = np.logical_and(open_cells[each.column], of_it)
        if where.any():
            open_cells[each.column] = open_cells[each.column] & ~where
            counts[each.column, each.text, each.source, each.status] += int(kinds.boats[where].sum())
    rows = [("vessels", *key[:2], count, *key[2:]) for key, count in counts.items()]
    return pd.DataFrame(rows, columns=list(TRACE_COLUMNS)).astype({"count": "int64"})
