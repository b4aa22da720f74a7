"""Measured readings: what each finds, what year it marks, and how a trend of them changes what is left of a life."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from riskmodel.errors import Problem, TableError
from riskmodel.fleet import Fleet
from riskmodel.frames import each_row
from riskmodel.trade import Reading, Trade, finding_of_reading, readings_of
from riskmodel.units import DAYS_PER_YEAR
from riskmodel.words import counted

GRADES = {"": 0, "unknown": 0, "sound": 1, "suspect": 2, "failing": 3, "failed": 4}
MARKED = "made_on"
# A trend needs readings at least this far apart (years): closer ones tell of the meter.
LEAST_SPAN = 0.1
RENEWALS = ("installed", "replaced")
WORK = ("replaced", "adjusted")
# No part in service was made before this (judgement): an earlier number is a slip or another kind of mark.
FIRST_YEAR = 1900


def read_readings(fleet: Fleet, trade: Trade) -> tuple[Fleet, tuple[str, ...]]:
    """The fleet with findings from its readings, and parts dated by the year marked on them.

    A reading that finds something worse than its record says is believed; notes count what was filled in. A year
    marked on a part since renewed dates nothing.

    Raises
    ------
    TableError
        When a reading in a unit the trade tables judge is below 0, or a marked year is none or is still to come.
    """
    records = fleet.records
    read = _judged(fleet, trade)
    if read.empty:
        return fleet, _unread(fleet, trade, read)
    _refuse_impossible(read)
    findings, made = records["finding"].copy(), {}
    filled = 0
    renewed = records[records["event"].isin(RENEWALS)].groupby("item_id")["date"].max()
    for row in each_row(read.assign(renewed=read["item_id"].map(renewed))):
        if row.marked:
            if not row.date < row.renewed:
                made[row.item_id] = int(row.reading)
            continue
        found = finding_of_reading(trade, row.item_class, row.reading, row.reading_unit)
        if GRADES[found] > GRADES[row.finding]:
            findings[row.Index] = found
            filled += 1
    notes = (f"{counted(filled, 'finding')} read from measurements",) if filled else ()
    items = _dated(fleet.items, made)
    whole = replace(fleet, items=items, records=records.assign(finding=findings))
    return whole, (*notes, *_unread(fleet, trade, read))


def trend_reach(fleet: Fleet, trade: Trade, installed: pd.Series) -> pd.Series:
    """Factor on the time ahead, by item_id, for parts with a trend of readings in their present life.

    A part whose reading worsens twice as fast as is usual spends its remaining life twice as fast, within the cap of
    ``data/trade/care.csv`` either way. Readings from before the part was put in (``installed``, by item_id) or before
    it was last adjusted belong to another trend.
    """
    read = _judged(fleet, trade)
    records = fleet.records
    adjusted = records[(records["item_id"] != "") & (records["event"] == "adjusted")]
    since = pd.concat([installed, adjusted.groupby("item_id")["date"].max()]).groupby(level=0).max()
    start = read["item_id"].map(since)
    # What the work itself records was read before it: the drip that was tightened, not the one that was left.
    cured = read["event"].isin(WORK) & (read["date"] == start)
    read = read[start.isna() | ((read["date"] >= start) & ~cured)]
    cap = trade.care["reading_cap"].typical
    reach: dict[str, float] = {}
    for (item, name, unit), group in read.groupby(["item_id", "item_class", "reading_unit"]):
        rows = [row for row in readings_of(trade, str(name), str(unit)) if row.path_low and row.path_high]
        pace = _pace(group, rows[0]) if rows else None
        if pace is not None:
            # Of several measures of one part the one that is worst counts.
            reach[str(item)] = max(
                reach.get(str(item), 0.0), float(np.clip(pace, 1.0 - cap, 1.0 / (1.0 - cap)))
            )
    return pd.Series(reach, dtype=float)


def _unread(fleet: Fleet, trade: Trade, judged: pd.DataFrame) -> tuple[str, ...]:
    """A note on readings of parts in units that say nothing of them: their keeper should know they were not used."""
    records = fleet.records
    given = records[records["reading"].notna() & (records["item_id"] != "")]
    left = given[~given.index.isin(judged.index)]
    if left.empty:
        return ()
    words = ", ".join(sorted({unit or "none" for unit in left["reading_unit"]}))
    known = ", ".join(sorted({row.reading_unit for row in trade.readings}))
    told = f"{counted(len(left), 'reading')} not used: in a unit that says nothing of the part ({words})"
    return (f"{told}. Known: {known}",)


def _judged(fleet: Fleet, trade: Trade) -> pd.DataFrame:
    """Readings of parts in units that the trade tables judge, units spelt one way; ``marked``: a year of making.

    What is measured in any other unit is the keeper's own business: nothing is read from it or asked of it.
    """
    records = fleet.records
    read = records[records["reading"].notna() & (records["reading_unit"] != "") & (records["item_id"] != "")]
    spelt = read["reading_unit"].str.casefold().str.split().str.join(" ")
    classes = read["item_id"].map(fleet.items.set_index("item_id")["item_class"])
    read = read.assign(reading_unit=spelt, item_class=classes)
    pairs = read[["item_class", "reading_unit"]].drop_duplicates()
    ways = {
        (name, unit): {row.compare for row in readings_of(trade, name, unit)}
        for name, unit in pairs.itertuples(index=False)
    }
    found = [ways[pair] for pair in zip(read["item_class"], read["reading_unit"], strict=True)]
    marked = np.array([MARKED in each for each in found], dtype=bool)
    return read.assign(marked=marked)[np.array([bool(each) for each in found], dtype=bool)]


def _refuse_impossible(read: pd.DataFrame) -> None:
    """Readings below nought, and marked years that no part in service can bear, all of them at once."""
    value, marked = read["reading"], read["marked"]
    year = (value % 1 == 0) & (value >= FIRST_YEAR) & (value <= read["date_by"].dt.year)
    below, no_year = ~marked & (value < 0), marked & ~year
    rules = np.where(no_year, f"as a marked year must lie between {FIRST_YEAR} and the year it was read", "")
    rules = np.where(below, "must be 0 or more", rules)
    rows = zip(read["source_row"], rules, value, strict=True)
    problems = [
        Problem("records", row, "reading", str(rule), f"{each:g}") for row, rule, each in rows if rule
    ]
    if problems:
        raise TableError(problems)


def _pace(group: pd.DataFrame, row: Reading) -> float | None:
    """How many times faster than usual the readings move towards the worse; None without two far enough apart."""
    years = (group["date"] - group["date"].min()).dt.days.to_numpy() / DAYS_PER_YEAR
    if len(group) < 2 or years.max() < LEAST_SPAN:
        return None
    slope = float(np.polyfit(years, group["reading"].to_numpy(dtype=float), 1)[0])
    worse = -slope if row.compare == "at_most" else slope
    return worse / float(np.sqrt((row.path_low or 0.0) * (row.path_high or 0.0)))


def _dated(items: pd.DataFrame, made: dict[str, int]) -> pd.DataFrame:
    """Items whose year of making was read off them, where the keeper's table did not say."""
    years = items["item_id"].map(made).where(items["made_by"].isna())
    known = years.notna()
    if not known.any():
        return items
    first, last = items["made_after"].copy(), items["made_by"].copy()
    first[known] = pd.to_datetime(years[known].astype(int).astype(str) + "-01-01")
    last[known] = pd.to_datetime(years[known].astype(int).astype(str) + "-12-31")
    return items.assign(made_after=first, made_by=last)
