"""The days that a boat's year turns on: first trip, lay-up, and when it stands ashore for work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import pandas as pd

from riskmodel.risk import Assessment
from riskmodel.risk.haul_out import OUT_ALREADY

# Work ashore is looked at this many days before the launch, so that what it finds can still be mended (judgement).
BEFORE_LAUNCH = 14
YEAR = timedelta(days=365)
ASHORE = ("ashore", "on_trailer")


@dataclass(frozen=True)
class SeasonDates:
    """``today`` and ``until`` bound the time ahead; ``first_trip``: today for a boat in use.

    ``began``: the first day of the season it is in or comes to; of this year where it has no seasons.
    ``haul_outs``: days on which work ashore can be done, none for a boat that lives ashore (``dry``) and has any day;
    ``haul_out_told``: how they were found. ``starts`` and ``ends``: first and last days of seasons in the time ahead.
    ``wet_winter``: the boat stays afloat when its season is over. ``soon``: the day by which what may sink it is seen
    to: today where it lies afloat, else the day it is afloat again or the first trip, whichever comes first.
    """

    today: date
    until: date
    first_trip: date
    began: date
    starts: tuple[date, ...]
    ends: tuple[date, ...]
    haul_outs: tuple[date, ...]
    haul_out_told: str
    dry: bool
    wet_winter: bool
    soon: date

    def in_season(self, day: date) -> bool:
        """Whether the boat is in use on a day ahead."""
        return self.use_after(day) <= day

    def use_after(self, day: date) -> date:
        """The first day from ``day`` on, and not before the first trip, on which the boat is in use."""
        begun = max((start for start in (self.first_trip, *self.starts) if start <= day), default=None)
        if begun is not None and not any(begun <= end < day for end in self.ends):
            return day
        return min((start for start in (self.first_trip, *self.starts) if start > day), default=date.max)


def season_dates(result: Assessment) -> SeasonDates:
    """The days of the one boat of an assessment, from its season, its periods and its lifts on record."""
    boat = result.fleet.vessels.iloc[0]
    today, until = result.horizon.as_of, result.horizon.until
    first, last = str(boat["season_start"]), str(boat["season_end"])
    dry = boat["kept"] in OUT_ALREADY
    starts: tuple[date, ...] = ()
    ends: tuple[date, ...] = ()
    first_trip, began = today, date(today.year, 1, 1)
    if first and last:
        starts = tuple(_yearly(first, today + timedelta(days=1), until))
        ends = tuple(_yearly(last, today, until))
        if not within(today, first, last):
            first_trip = next(_yearly(first, today, today + 2 * YEAR))
        began = max(_yearly(first, first_trip - 2 * YEAR, first_trip))
    haul_outs, told = ((), "the boat lives ashore") if dry else _haul_outs(result, starts, ends)
    yearly = boat["vessel_id"] in result.learned.hauled
    periods = result.fleet.periods
    ashore = periods.loc[periods["vessel_id"] == boat["vessel_id"], "state"].isin(ASHORE).any()
    wet = not dry and not (ashore or yearly)
    soon = first_trip if dry else min(first_trip, _afloat_from(result))
    return SeasonDates(today, until, first_trip, began, starts, ends, haul_outs, told, dry, wet, soon)


def _afloat_from(result: Assessment) -> date:
    """The first day from today on that lies in no period ashore; a boat without periods lies as it is kept."""
    mine = result.fleet.periods
    mine = mine[mine["vessel_id"] == result.fleet.vessels["vessel_id"].iloc[0]]
    ashore = mine[mine["state"].isin(ASHORE)]
    spans = list(zip(ashore["from"], ashore["to"], strict=True))
    day = result.horizon.as_of
    while day < result.horizon.until and any(within(day, *span) for span in spans):
        day += timedelta(days=1)
    return day


def within(day: date, first: str, last: str) -> bool:
    """Whether a day lies from ``first`` to ``last`` (month-days, both in it), which may lie past the year's end."""
    here = day.strftime("%m-%d")
    return first <= here <= last if first <= last else here >= first or here <= last


def _haul_outs(
    result: Assessment, starts: tuple[date, ...], ends: tuple[date, ...]
) -> tuple[tuple[date, ...], str]:
    """Days for work ashore: by the boat's periods, else about its season, else a year after the last lift."""
    fleet, today, until = result.fleet, result.horizon.as_of, result.horizon.until
    vessel_id = fleet.vessels["vessel_id"].iloc[0]
    mine = fleet.periods[fleet.periods["vessel_id"] == vessel_id]
    ashore = mine[mine["state"].isin(ASHORE)]
    if len(ashore):
        spans = list(zip(ashore["from"], ashore["to"], strict=True))
        days = {day for first, _ in spans for day in _yearly(first, today, until)}
        days |= {today} if any(within(today, *span) for span in spans) else set()
        return tuple(sorted(days)), "when the boat comes ashore by its periods"
    if (starts or ends) and vessel_id in result.learned.hauled:
        launches = (max(start - timedelta(days=BEFORE_LAUNCH), today) for start in starts)
        return tuple(sorted({*launches, *ends})), "before the launch and at lay-up"
    lifts = fleet.records
    lifts = lifts.loc[(lifts["vessel_id"] == vessel_id) & (lifts["event"] == "hauled"), "date"]
    if lifts.empty:
        return (today,), "at the first chance: no lift is on record"
    due = max(pd.Timestamp(lifts.max()).date() + YEAR, today)
    return (
        ((due,), "a year after the last lift on record, or now") if due <= until else ((), "none falls due")
    )


def _yearly(month_day: str, start: date, end: date) -> Iterator[date]:
    """Each day with this month and day from ``start`` to ``end``, 29 February as 28 in common years."""
    month, day = (int(part) for part in month_day.split("-"))
    for year in range(start.year, end.year + 1):
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        each = date(year, month, 28 if (month, day) == (2, 29) and not leap else day)
        if start <= each <= end:
            yield each
