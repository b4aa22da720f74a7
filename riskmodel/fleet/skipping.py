"""Loads a fleet without its broken rows, and says what was left out for them: whole boats, and what they are worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.links import boat_of_items
from riskmodel.fleet.load import Opened, checked_sources, fleet_of_tables, linked_problems, open_sources
from riskmodel.fleet.numbers import DECIMAL_COMMA

Mask = npt.NDArray[np.bool_]
Tables = Mapping[str, CheckedTable]


@dataclass(frozen=True)
class LeftOut:
    """What a fleet was loaded without.

    ``problems``: every one found. ``broken``: rows with a problem; ``rows``: rows left out by table, with those that
    hang on them. ``boats`` left out, worth ``value`` [currency] but for the ``unread`` ones whose value is itself
    broken. ``homeless``: broken rows that name no boat of the schedule, so that nobody knows whose part they were.
    """

    problems: tuple[Problem, ...] = ()
    broken: int = 0
    rows: Mapping[str, int] = field(default_factory=dict)
    boats: int = 0
    value: float = 0.0
    unread: int = 0
    homeless: int = 0


def load_fleet_without_bad(
    path: Path | str, *, as_of: date | None = None, today: date | None = None
) -> tuple[Fleet, LeftOut]:
    """The fleet at ``path`` as ``load_fleet`` has it, without its broken rows, and what was left out.

    A row with a problem, in any table, takes its whole boat with it: a boat without one of its parts would seem to
    have fewer, and one without a failure on record to be safer, than they are. Of two rows with one id both boats go.

    Raises TableError for what is wrong with a table as a whole (a column, a file, a row as wide as no head, the
    decimal mark, settings), all of it first, and where no boat would be left.
    """
    opened = open_sources(path, as_of, today)
    tables, problems = checked_sources(opened)
    rest: Tables = tables
    found = problems
    if found:
        _refuse_whole(opened, tables, found)
    while found:
        rest = _without(rest, _broken(rest, found))
        if rest["vessels"].frame.empty:
            raise TableError(problems)
        # What is left stands for itself: a record may have told of a part that is gone, though it named its boat.
        found = linked_problems(rest)
    return fleet_of_tables(opened, rest), _left_out(tables, rest, problems)


def _refuse_whole(opened: Opened, tables: Tables, problems: list[Problem]) -> None:
    files = {table.file for table in tables.values()}
    unread = set(opened.raw.problems)
    whole = [
        each
        for each in problems
        if each.row <= 1 or each.rule == DECIMAL_COMMA or each.file not in files or each in unread
    ]
    if whole:
        first = set(whole)
        raise TableError([*whole, *(each for each in problems if each not in first)])


def _broken(tables: Tables, problems: list[Problem]) -> dict[str, Mask]:
    """Which rows of each table have a problem."""
    rows: dict[str, list[int]] = {table.file: [] for table in tables.values()}
    for each in problems:
        rows[each.file].append(each.row)
    return {
        name: np.isin(table.frame["source_row"].to_numpy(dtype=np.int64), rows[table.file])
        for name, table in tables.items()
    }


def _boats(tables: Tables, name: str) -> list[pd.Series]:
    """The boats that each row of a table may be about."""
    frame = tables[name].frame
    if name != "records":
        return [frame["vessel_id"]]
    return [frame["vessel_id"], boat_of_items(tables["items"], frame["item_id"])]


def _without(tables: Tables, broken: Mapping[str, Mask]) -> Tables:
    """The tables without their broken rows, and without all of every boat that has one."""
    items = tables["items"].frame
    doubtful = items.loc[broken["items"], "item_id"]
    twice = items["item_id"].ne("") & items["item_id"].isin(doubtful)
    ids = [items.loc[twice, "vessel_id"]]
    ids += [each[broken[name]] for name in tables for each in _boats(tables, name)]
    boats = pd.Index(pd.concat(ids).unique()).drop("", errors="ignore")
    gone = {
        name: broken[name] | np.logical_or.reduce([each.isin(boats) for each in _boats(tables, name)])
        for name in tables
    }
    return {name: _kept(table, ~gone[name]) for name, table in tables.items()}


def _kept(table: CheckedTable, kept: Mask) -> CheckedTable:
    if kept.all():
        return table
    frame, given = (each[kept].reset_index(drop=True) for each in (table.frame, table.given))
    return replace(table, frame=frame, given=given, problems=())


def _left_out(tables: Tables, rest: Tables, problems: list[Problem]) -> LeftOut:
    broken = _broken(tables, problems)
    vessels = tables["vessels"].frame
    kept = vessels["source_row"].isin(rest["vessels"].frame["source_row"])
    value = vessels.loc[~kept, "value"].to_numpy(dtype=float)
    gone = {name: len(table.frame) - len(rest[name].frame) for name, table in tables.items()}
    return LeftOut(
        problems=tuple(problems),
        broken=sum(int(mask.sum()) for mask in broken.values()),
        rows={name: count for name, count in gone.items() if count},
        boats=gone["vessels"],
        value=float(np.nansum(value)),
        unread=int(np.isnan(value).sum()),
        homeless=sum(_homeless(tables, name, broken[name]) for name in tables if name != "vessels"),
    )


def _homeless(tables: Tables, name: str, broken: Mask) -> int:
    """How many broken rows of a table name no boat of the schedule."""
    if not broken.any():
        return 0
    known = tables["vessels"].frame["vessel_id"]
    named = [each[broken] for each in _boats(tables, name)]
    return int((~np.logical_or.reduce([each.ne("") & each.isin(known) for each in named])).sum())
