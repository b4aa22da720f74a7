"""The stretch of time a question is about: from the day the fleet is seen to the end of the coming season."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from riskmodel.errors import ParameterError
from riskmodel.fleet import Fleet
from riskmodel.units import DAYS_PER_YEAR

# A season with less than this left (days) is as good as over; the coming one is meant (judgement).
AS_GOOD_AS_OVER = 30
# Nobody plans for a boat further ahead (years), nor does the calendar of the tables reach further (both judgements).
LONGEST, LAST_YEAR = 100, 2250


@dataclass(frozen=True)
class Horizon:
    """From ``as_of`` to ``until``, its length in years, and in words where it came from."""

    as_of: date
    until: date
    wording: str

    @property
    def years(self) -> float:
        """Length in years."""
        return (self.until - self.as_of).days / DAYS_PER_YEAR


def given_horizon(as_of: date, until: date) -> Horizon:
    """A horizon the asker chose. Raises ParameterError unless ``until`` lies after ``as_of``, in LONGEST years."""
    if until <= as_of:
        raise ParameterError(f"until must lie after {as_of}, got {until}")
    if until.year > min(as_of.year + LONGEST, LAST_YEAR):
        raise ParameterError(f"until must lie within {LONGEST} years and not after {LAST_YEAR}, got {until}")
    return Horizon(as_of, until, "as asked")


def months_ahead(as_of: date, months: int) -> Horizon:
    """A horizon of whole months. Raises ParameterError unless ``months`` is 1 or more, and its end one that is read."""
    if months < 1:
        raise ParameterError(f"months must be 1 or more, got {months}")
    if months > 12 * LONGEST:
        raise ParameterError(f"months must be at most {12 * LONGEST:,}, got {months}")
    until = given_horizon(as_of, _months_later(as_of, months)).until
    return Horizon(as_of, until, f"{months} months")


def coming_season(fleet: Fleet, as_of: date) -> Horizon:
    """To the end of the coming season, the latest among the fleet's boats; 12 months where none is given."""
    seasons = set(zip(fleet.vessels["season_start"], fleet.vessels["season_end"], strict=True))
    if fleet.settings.season_end:
        seasons.add((fleet.settings.season_start, fleet.settings.season_end))
    ends = [_next_end(end, as_of) for _, end in seasons if end]
    if not ends:
        return Horizon(as_of, _months_later(as_of, 12), "12 months: no season is given")
    return Horizon(as_of, max(ends), "the end of the coming season")


def _next_end(month_day: str, as_of: date) -> date:
    this_year = _on(as_of.year, month_day)
    enough = as_of + timedelta(days=AS_GOOD_AS_OVER)
    return this_year if this_year >= enough else _on(as_of.year + 1, month_day)


def _on(year: int, month_day: str) -> date:
    month, day = (int(part) for part in month_day.split("-"))
    return date(year, month, min(day, _days_in(year, month)))


def _months_later(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, _days_in(year, month + 1)))


def _days_in(year: int, month: int) -> int:
    first_of_next = date(year + month // 12, month % 12 + 1, 1)
    return (first_of_next - timedelta(days=1)).day
