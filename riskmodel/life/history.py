"""Life rows from a fleet's records: the window in which each life was watched, and how it ended in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.fleet import Fleet
from riskmodel.frames import places_by
from riskmodel.life.ages import AgeTable
from riskmodel.life.looks import mean_window
from riskmodel.life.rows import LifeRows
from riskmodel.life.spans import life_spans
from riskmodel.life.spread import spread_starts
from riskmodel.trade import ItemClass
from riskmodel.units import DAYS_PER_YEAR
from riskmodel.words import counted

DAYS_PER_MONTH = DAYS_PER_YEAR / 12
# A window of installation or failure up to this wide (days) is taken at its middle; wider ones stay windows.
NARROW_START = 62.0
NARROW_FAILURE = 7.0
# A failure on the very day of installation has an age between nothing and one day.
ONE_DAY = 1 / DAYS_PER_YEAR
RUBBER = "elastomer_ageing"


@dataclass(frozen=True)
class History:
    """What the records say of lives.

    ``rows``: one row a life watched (more where its age is unknown and spread), with ``item_id, item_class,
    life, ending, lower, upper, entry, count, other_lower, other_upper`` in years; the ``other`` pair is the
    reading "it had failed" of a renewal whose reason nobody wrote. ``spans``: every life, watched or not, in days;
    ``start_after`` and ``start_by`` bound when it began to age, ``put_in_after`` and ``put_in_by`` when it was put in.
    ``notes``: counted plain sentences on what was left out or assumed.
    """

    rows: pd.DataFrame
    spans: pd.DataFrame
    notes: tuple[str, ...]

    def of_class(self, item_class: str) -> LifeRows:
        """The rows of one class."""
        return self._rows(item_class, "lower", "upper")

    def of_class_read_as_failed(self, item_class: str) -> LifeRows:
        """The same, with renewals of unwritten reason read as failures since the last look."""
        return self._rows(item_class, "other_lower", "other_upper")

    def _rows(self, item_class: str, lower: str, upper: str) -> LifeRows:
        place = self._places.get(item_class)
        if place is None:
            return LifeRows.none()
        columns = (self.rows[name].to_numpy(dtype=float)[place] for name in (lower, upper, "entry", "count"))
        return LifeRows(*columns)

    @cached_property
    def _places(self) -> dict[str, npt.NDArray[np.intp]]:
        return places_by(self.rows["item_class"])


def read_history(fleet: Fleet, classes: Mapping[str, ItemClass], tables: Mapping[str, AgeTable]) -> History:
    """Every life the fleet's records watched, as rows (methods: records become rows).

    ``tables`` gives, per class, the age table used where an installation date is unknown.
    """
    spans = _with_days(life_spans(fleet), fleet, classes)
    watched = spans[spans["records_from"].notna()]
    told = _outcomes(watched)
    ages = _dated(told, tables)
    rows, notes = _inside_window(ages)
    return History(rows, spans, notes)


def _with_days(spans: pd.DataFrame, fleet: Fleet, classes: Mapping[str, ItemClass]) -> pd.DataFrame:
    """Spans with dates as days (float, NaN unknown), their boat's facts and their class's warning time."""
    days = pd.DataFrame(index=spans.index)
    for column in (
        "start_after",
        "start_by",
        "end_after",
        "end_by",
        "seen_on",
        "sound_on",
        "passed_on",
        "found_on",
        "failing_on",
    ):
        days[column] = _days(spans[column]) if column in spans else np.nan
    plain = spans[["item_id", "vessel_id", "item_class", "life", "ending", "found"]]
    boats = boat_facts(fleet)
    joined = plain.join(days).join(boats, on="vessel_id")
    hidden = {name: each.fails_unseen for name, each in classes.items()}
    warning = {name: _mean_warning(each) for name, each in classes.items()}
    joined["fails_unseen"] = joined["item_class"].map(hidden).astype(bool)
    joined["sound_on"] = joined["sound_on"].where(~joined["fails_unseen"], joined["passed_on"])
    joined["warning"] = joined["item_class"].map(warning).astype(float)
    joined["as_of"] = _day(pd.Timestamp(fleet.as_of))
    joined["quantity"] = joined["item_id"].map(fleet.items.set_index("item_id")["quantity"]).astype(float)
    return _from_made(joined, fleet, classes)


def _mean_warning(item_class: ItemClass) -> float:
    """Mean of the warning window, in days: how wide an interval a part renewed because it looked bad is given."""
    return mean_window(item_class.warning_low_months, item_class.warning_high_months) * DAYS_PER_MONTH


def _from_made(spans: pd.DataFrame, fleet: Fleet, classes: Mapping[str, ItemClass]) -> pd.DataFrame:
    """Rubber in service ages from the day it was made; it is watched only from the day it was put in."""
    items = fleet.items.set_index("item_id")
    first, last = (_days(spans["item_id"].map(items[name])) for name in ("made_after", "made_by"))
    rubber = spans["item_class"].map(
        {name: each.mechanism.mechanism == RUBBER for name, each in classes.items()}
    )
    present = spans["life"] == spans.groupby("item_id")["life"].transform("max")
    dated = rubber & present & last.notna() & ~(first > spans["start_by"])
    installed = spans["start_after"].fillna(spans["start_by"])
    return spans.assign(
        records_from=np.where(
            dated & spans["records_from"].notna(),
            np.fmax(spans["records_from"], installed),
            spans["records_from"],
        ),
        put_in_after=spans["start_after"],
        put_in_by=spans["start_by"],
        start_after=np.where(dated, first.fillna(last), spans["start_after"]),
        start_by=np.where(dated, np.fmin(last, spans["start_by"]), spans["start_by"]),
    )


def boat_facts(fleet: Fleet) -> pd.DataFrame:
    """Per vessel_id: days its records begin, it was last seen in use, sold, and built (NaN unknown)."""
    records = fleet.records
    owner = records["vessel_id"].where(
        records["vessel_id"] != "", records["item_id"].map(fleet.items.set_index("item_id")["vessel_id"])
    )
    by_boat = _days(records["date"]).groupby(owner)
    own = _days(records["date"])[records["item_id"] == ""]
    kinds = records.loc[own.index, "event"]
    boats = fleet.vessels.set_index("vessel_id")
    facts = pd.DataFrame(index=boats.index)
    facts["records_from"] = _days(boats["records_from"]).fillna(by_boat.min())
    facts["boat_seen_on"] = own.groupby(owner[own.index]).max()
    facts["sold_on"] = own[kinds == "sold"].groupby(owner[own.index]).max()
    facts["built_on"] = _days(pd.to_datetime(boats["built_year"].map(_new_year), errors="coerce"))
    return facts


def _new_year(year: float) -> str | None:
    return None if np.isnan(year) else f"{int(year)}-01-01"


def _outcomes(spans: pd.DataFrame) -> pd.DataFrame:
    """Adds ``low_day`` and ``high_day`` (inf: not failed) of the end of each life, and the other reading."""
    last = _last_known_whole(spans)
    end = spans["end_after"]
    closed_whole = np.where(spans["fails_unseen"], last, end)
    width = spans["end_by"] - end
    middle = end + width / 2
    exact = width <= NARROW_FAILURE
    # What a look finds dead, or fails unseen, may have been so since it was fitted (NaN) when no look came before.
    found = spans["fails_unseen"] | (spans["found"] == "failed")
    looked: FloatArray = np.where(found & last.isna(), np.nan, np.fmin(last, end)).astype(float)
    still = spans["ending"] == "in_service"
    failing = still & (spans["found"] == "failing")
    dead = still & (spans["found"] == "failed")
    cases = [
        (spans["ending"] == "failed", np.where(exact, middle, end), np.where(exact, middle, spans["end_by"])),
        (spans["ending"] == "found_failed", looked, spans["end_by"]),
        (spans["ending"] == "condition", end, end + spans["warning"]),
        (failing, last, np.fmax(spans["failing_on"], last) + spans["warning"]),
        (dead, np.fmin(spans["sound_on"], spans["found_on"]), spans["found_on"]),
        (still, last, np.inf),
    ]
    hits = [case[0] for case in cases]
    low = np.select(hits, [np.asarray(case[1], dtype=float) for case in cases], closed_whole)
    high = np.select(hits, [case[2] for case in cases], np.inf)
    unknown = spans["ending"] == "unknown"
    return spans.assign(
        low_day=low,
        high_day=high,
        other_low_day=np.where(unknown, looked, low),
        other_high_day=np.where(unknown, spans["end_by"], high),
    )


def _last_known_whole(spans: pd.DataFrame) -> pd.Series:
    """The last day each life was known to be whole; NaN when nobody looked since its start.

    What fails unseen is only known by a passed test or a sound look; anything else by any record of it, or by
    its boat being in use.
    """
    started = spans["boat_seen_on"] >= spans["start_by"].fillna(-np.inf)
    in_use = spans["boat_seen_on"].where(started & spans["end_by"].isna())
    seen = pd.Series(np.fmax(spans["seen_on"], in_use), index=spans.index)
    seen = seen.where(~(seen > spans["sold_on"]), spans["sold_on"])
    found_broken = spans["ending"].isin(["failed", "found_failed"])
    either = pd.Series(np.fmax(seen, spans["sound_on"]), index=spans.index)
    return spans["sound_on"].where(spans["fails_unseen"] | found_broken, either)


def _dated(told: pd.DataFrame, tables: Mapping[str, AgeTable]) -> pd.DataFrame:
    """Rows with ages in years: narrow installation windows at their middle, wide or unknown ones spread."""
    narrow = (told["start_by"] - told["start_after"]) <= NARROW_START
    dated = told[narrow]
    known = dated.assign(start=(dated["start_after"] + dated["start_by"]) / 2, share=1.0)
    unknown = spread_starts(told[~narrow], tables)
    both = pd.concat([known, unknown], ignore_index=True) if len(unknown) else known.reset_index(drop=True)
    start = both["start"]
    for age, day in (("lower", "low_day"), ("upper", "high_day"), ("other_lower", "other_low_day")):
        both[age] = (both[day].fillna(start) - start).clip(lower=0.0) / DAYS_PER_YEAR
    both["other_upper"] = (both["other_high_day"] - start).clip(lower=0.0) / DAYS_PER_YEAR
    both["entry"] = (both["records_from"] - start).clip(lower=0.0) / DAYS_PER_YEAR
    both["age_unknown"] = ~both["item_id"].isin(known["item_id"]) | (both["share"] < 1)
    return both


def _inside_window(ages: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Only what was watched: ends after the records begin, with an age that can be told from its start."""
    failed = np.isfinite(ages["upper"])
    before = failed & (ages["upper"] <= ages["entry"]) & (ages["entry"] > 0)
    unwatched = ~failed & (ages["lower"] <= ages["entry"])
    rows = ages[~before & ~unwatched].copy()
    for low, high in (("lower", "upper"), ("other_lower", "other_upper")):
        newborn = (rows[high] <= 0) | ((rows[low] == 0) & (rows[high] < ONE_DAY))
        rows[high] = rows[high].where(~newborn, ONE_DAY)
        rows[low] = np.minimum(np.maximum(rows[low], rows["entry"]), rows[high])
    rows = _several(rows.rename(columns={"share": "count"}))
    notes = []
    if before.any():
        lives = ages.loc[before, ["item_id", "life"]].drop_duplicates()
        notes.append(
            f"{counted(len(lives), 'failure')} on or before the day the boat's records begin left out of the lives"
        )
    unknown = len(rows.loc[rows["ending"] == "unknown", ["item_id", "life"]].drop_duplicates())
    if unknown:
        notes.append(
            f"{counted(unknown, 'renewal')} without a written reason read as sound; `lives` shows the other reading"
        )
    keep = ["item_id", "vessel_id", "item_class", "life", "ending", "lower", "upper", "entry", "count"]
    return rows[[*keep, "other_lower", "other_upper", "age_unknown"]].reset_index(drop=True), tuple(notes)


def _several(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows of several like parts: all of them watched, one of them failed, the others whole at that age."""
    more = rows["quantity"] > 1
    failed = np.isfinite(rows["upper"])
    others = rows[more & failed].assign(upper=np.inf, other_upper=np.inf, ending="in_service")
    others["count"] *= others["quantity"] - 1
    rows = rows.assign(count=np.where(more & ~failed, rows["count"] * rows["quantity"], rows["count"]))
    both: pd.DataFrame = pd.concat([rows, others[others["lower"] > others["entry"]]], ignore_index=True)
    return both


def _days(dates: pd.Series) -> pd.Series:
    """Dates as float days since 1970, NaT as NaN."""
    return (pd.to_datetime(dates) - pd.Timestamp(0)) / pd.Timedelta(days=1)


def _day(date: pd.Timestamp) -> float:
    return float((date - pd.Timestamp(0)) / pd.Timedelta(days=1))
