"""Sees a checked fleet from one day: what came later is left out, and no window reaches past it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from pandas import Series

from riskmodel.fleet.checks import CheckedTable

CheckedTables = tuple[CheckedTable, CheckedTable, CheckedTable]

_OF_THE_PART: dict[str, Any] = {
    "installed_after": pd.NaT,
    "installed_by": pd.NaT,
    "installed_hours": np.nan,
    "made_after": pd.NaT,
    "made_by": pd.NaT,
    "batch": "",
}
"""What an item's row says of the part in place, with its missing value."""


def seen_from(tables: CheckedTables, as_of: date) -> tuple[CheckedTables, tuple[str, ...]]:
    """Vessels, items and records as they stood on ``as_of``, with a counted note for what was left out."""
    vessels, items, records = tables
    day = pd.Timestamp(as_of)
    later_records = records.frame["date"] > day
    later_items = items.frame["installed_after"] > day
    # An item with earlier records was there already, with a predecessor of today's part in it.
    renewed = later_items & items.frame["item_id"].isin(records.frame.loc[~later_records, "item_id"])
    absent = later_items & ~renewed
    notes = (
        *_counted(absent, "item", f"left out, installed after {as_of}"),
        *_counted(renewed, "item", f"taken as of unknown age, because the part in place came after {as_of}"),
        *_counted(later_records, "record", f"left out, dated after {as_of}"),
    )
    seen = (
        _capped(vessels, day, ["records_from"]),
        _capped(
            _kept(_without_part(items, renewed), ~absent), day, ["installed_by", "made_after", "made_by"]
        ),
        _capped(_kept(records, ~later_records), day, ["date_by"]),
    )
    return seen, notes


def _counted(mask: Series[bool], thing: str, what: str) -> tuple[str, ...]:
    count = int(mask.sum())
    if not count:
        return ()
    return (f"{count} {thing} was {what}." if count == 1 else f"{count} {thing}s were {what}.",)


def _without_part(items: CheckedTable, renewed: Series[bool]) -> CheckedTable:
    if not renewed.any():
        return items
    frame = items.frame.assign(
        **{name: items.frame[name].mask(renewed, missing) for name, missing in _OF_THE_PART.items()}
    )
    given = items.given.assign(**{name: items.given[name] & ~renewed for name in _OF_THE_PART})
    return replace(items, frame=frame, given=given)


def _kept(table: CheckedTable, kept: Series[bool]) -> CheckedTable:
    if kept.all():
        return table
    frame, given = (part[kept].reset_index(drop=True) for part in (table.frame, table.given))
    return replace(table, frame=frame, given=given)


def _capped(table: CheckedTable, day: pd.Timestamp, columns: list[str]) -> CheckedTable:
    ends = {name: table.frame[name].mask(table.frame[name] > day, day) for name in columns}
    return replace(table, frame=table.frame.assign(**ends))
