"""Finds records that may say one thing twice: the same again, or a part renewed twice within days."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas import DataFrame

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.checks import CheckedTable

# What two records of one thing agree in: what it is about and when it happened ...
ABOUT = ("item_id", "vessel_id", "date", "date_by", "event")
# ... and what was found and done; a note and the keeper's own columns say nothing new of the part.
DETAILS = ("finding", "thoroughness", "reason", "reading", "reading_unit", "hours")
RENEWALS = ("installed", "replaced")
CLOSE_DAYS = 14.0
"""Two renewals of a part no farther apart are asked about (judgement: slips of the date are of days)."""

_NAMED = 3


def refuse_repeat(records: CheckedTable) -> None:
    """Raises TableError if the last record says what an earlier one says, where both say something.

    A blank says nothing else: "replaced" and "replaced, scheduled" of one day are one renewal until the keeper
    says that it happened twice.
    """
    frame = _with_boats_apart(records.frame)
    last, others = frame.iloc[-1], frame.iloc[:-1]
    same = np.ones(len(others), dtype=bool)
    for name in ABOUT:
        same &= (others[name] == last[name]).to_numpy()
    for name in DETAILS:
        same &= (
            (_blank(others[name]) | (others[name] == last[name]).to_numpy()) if _says(last[name]) else True
        )
    if same.any():
        row = int(others["source_row"].to_numpy()[same][0])
        rule = f"must not say again what row {row} says: give --again if it happened twice"
        about = last["item_id"] or last["vessel_id"]
        said = f"{about} {last['event']} {last['date']:%Y-%m-%d}"
        raise TableError([Problem(records.file, int(last["source_row"]), "", rule, said)])


def repeat_notes(records: CheckedTable, items: CheckedTable) -> tuple[str, ...]:
    """Notes that ask about identical records and about parts renewed twice within ``CLOSE_DAYS``.

    Several like parts in one row of the items are renewed one after another and are not asked about.
    """
    frame = _with_boats_apart(records.frame)
    alike = frame.duplicated([*ABOUT, *DETAILS]).to_numpy()
    first = frame.groupby([*ABOUT, *DETAILS], dropna=False, sort=False)["source_row"].transform("first")
    notes = []
    if alike.any():
        pairs = [
            f"row {row} as row {of}" for row, of in zip(frame["source_row"][alike], first[alike], strict=True)
        ]
        what = "1 record says" if len(pairs) == 1 else f"{len(pairs)} records say"
        notes.append(
            f"{records.file}: {what} what an earlier one says ({_some(pairs)}): take out what happened once."
        )
    several = frame["item_id"].isin(items.frame.loc[items.frame["quantity"] > 1, "item_id"]).to_numpy()
    close = [
        f"{item} in rows {one} and {two}" for item, one, two in _close_renewals(frame[~alike & ~several])
    ]
    if close:
        what = (
            "1 part was renewed twice" if len(close) == 1 else f"parts were renewed {len(close)} times again"
        )
        notes.append(
            f"{records.file}: {what} within {CLOSE_DAYS:.0f} days ({_some(close)}): take out what is a slip."
        )
    return tuple(notes)


def _close_renewals(frame: DataFrame) -> list[tuple[str, int, int]]:
    """Item and rows of each renewal with the one before it, without those that a defect was found between."""
    found = frame[frame["event"].isin(RENEWALS) & frame["item_id"].ne("")]
    found = found.assign(middle=found["date"] + (found["date_by"] - found["date"]) / 2)
    found = found.sort_values(["item_id", "middle", "source_row"], kind="stable")
    before = found.shift()
    near = found["item_id"].eq(before["item_id"])
    near &= (found["middle"] - before["middle"]) <= pd.Timedelta(days=CLOSE_DAYS)
    # Taken out and put in on one day, in two records, is one renewal.
    near &= ~(found["event"].ne(before["event"]) & (found["date"] <= before["date_by"]))
    bad = frame["event"].eq("failed") | frame["finding"].isin(["failed", "failing"])
    found_bad = frame[bad & ~frame["event"].isin(RENEWALS)]
    pairs = []
    for (_, now), (_, then) in zip(found[near].iterrows(), before[near].iterrows(), strict=True):
        between = found_bad["item_id"].eq(now["item_id"]) & (found_bad["date"] <= now["date_by"])
        if not (between & (found_bad["date"] > then["date"])).any():
            pairs.append((str(now["item_id"]), int(then["source_row"]), int(now["source_row"])))
    return pairs


def _with_boats_apart(frame: DataFrame) -> DataFrame:
    """A part's boat is known by the part: whether a record names it too says nothing more."""
    return frame.assign(vessel_id=frame["vessel_id"].where(frame["item_id"] == "", ""))


def _says(cell: object) -> bool:
    return cell != "" and cell == cell


def _blank(cells: pd.Series) -> NDArray[np.bool_]:
    blank: NDArray[np.bool_] = (cells.isna() | cells.eq("")).to_numpy()
    return blank


def _some(words: list[str]) -> str:
    return ", ".join(words[:_NAMED]) + (", ..." if len(words) > _NAMED else "")
