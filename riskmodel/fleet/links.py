"""Checks what the tables say of each other: ids that lead somewhere, and events told of the right thing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pandas import Series

from riskmodel.errors import Problem
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.problems import problems_at
from riskmodel.fleet.schema import read_schema

ITEM_EVENTS = ("installed", "inspected", "adjusted", "tested", "replaced", "failed")
"""Events that happen to a part; every other event of a record happens to the boat."""


def link_problems(vessels: CheckedTable, items: CheckedTable, records: CheckedTable) -> list[Problem]:
    """Every id that leads nowhere, and every record whose event, ids or finding contradict each other."""
    targets = {table.name: table for table in (vessels, items)}
    return [
        *season_problems(vessels),
        *orphan_problems(items, targets),
        *orphan_problems(records, targets),
        *_records_about_nothing(records),
        *_records_of_two_boats(items, records),
        *_events_of_the_wrong_kind(records),
        *_sound_failures(records),
    ]


def season_problems(vessels: CheckedTable) -> list[Problem]:
    """Every season that begins or ends nowhere."""
    return half_given(vessels, ("season_start", "season_end"))


def flagged(
    table: CheckedTable, wrong: Series[bool], column: str, rules: NDArray[Any] | str, values: NDArray[Any]
) -> list[Problem]:
    """Problems for the rows where ``wrong``, with one rule for all or each, and one value each."""
    rows = table.frame["source_row"].to_numpy()[wrong.to_numpy()]
    return problems_at(table.file, column, rows, rules, values) if rows.size else []


def orphan_problems(table: CheckedTable, targets: Mapping[str, CheckedTable]) -> list[Problem]:
    """Every id of a table that is not in the table it leads to, of those in ``targets`` by name."""
    return [
        problem
        for field in read_schema(table.name).fields
        if field.reference in targets
        for problem in _orphans_in(table, field.name, targets[field.reference])
    ]


def _orphans_in(table: CheckedTable, column: str, target: CheckedTable) -> list[Problem]:
    if table.frame.empty:
        return []  # a large schedule is not looked through for nothing
    known = target.frame[column]
    if len(known) and not known.ne("").any():
        return []  # the target's own ids are missing, which is already a problem of its own
    ids = table.frame[column]
    wrong = ids.ne("") & ~ids.isin(known)
    return flagged(table, wrong, column, f"must be in the {target.name} table", ids[wrong].to_numpy())


def half_given(table: CheckedTable, pair: tuple[str, str]) -> list[Problem]:
    """Every row that gives one of two text columns without the other."""
    problems = []
    for given, lacking in (pair, pair[::-1]):
        wrong = table.frame[given].ne("") & table.frame[lacking].eq("")
        problems += flagged(table, wrong, lacking, f"must be given with {given}", np.full(wrong.sum(), ""))
    return problems


def _records_about_nothing(records: CheckedTable) -> list[Problem]:
    frame = records.frame
    wrong = frame["item_id"].eq("") & frame["vessel_id"].eq("")
    return flagged(records, wrong, "item_id", "must be given, or vessel_id", np.full(wrong.sum(), ""))


def _records_of_two_boats(items: CheckedTable, records: CheckedTable) -> list[Problem]:
    frame = records.frame
    boat = boat_of_items(items, frame["item_id"])
    wrong = frame["vessel_id"].ne("") & boat.ne("") & boat.ne(frame["vessel_id"])
    rules = np.array([f"must be {right}, the boat the item is on" for right in boat[wrong]], dtype=object)
    return flagged(records, wrong, "vessel_id", rules, frame.loc[wrong, "vessel_id"].to_numpy())


def boat_of_items(items: CheckedTable, item_ids: Series[str]) -> Series[str]:
    """The vessel_id of each item id, "" where it is unknown."""
    # Only the items asked about: most of a large fleet's have no record.
    asked = items.frame[items.frame["item_id"].isin(item_ids[item_ids.ne("")].unique())]
    boats = asked.drop_duplicates("item_id").set_index("item_id")["vessel_id"]
    found: Series[str] = item_ids.map(boats).fillna("").astype(object)
    return found


def _events_of_the_wrong_kind(records: CheckedTable) -> list[Problem]:
    frame = records.frame
    known = records.given["event"] & frame["event"].ne("")
    of_item = frame["event"].isin(ITEM_EVENTS)
    homeless = known & of_item & frame["item_id"].eq("") & frame["vessel_id"].ne("")
    boatless = known & ~of_item & frame["vessel_id"].eq("") & frame["item_id"].ne("")
    return [
        *flagged(
            records, homeless, "event", "must name its item_id", frame.loc[homeless, "event"].to_numpy()
        ),
        *flagged(
            records, boatless, "event", "must name its vessel_id", frame.loc[boatless, "event"].to_numpy()
        ),
    ]


def _sound_failures(records: CheckedTable) -> list[Problem]:
    frame = records.frame
    wrong = frame["event"].eq("failed") & frame["finding"].eq("sound")
    return flagged(
        records,
        wrong,
        "finding",
        "must not be sound where the event is failed",
        np.full(wrong.sum(), "sound"),
    )
