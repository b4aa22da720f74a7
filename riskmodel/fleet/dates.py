"""Reads texts as dates: a day, a month or a year becomes the first and the last day it can mean."""

from __future__ import annotations

import calendar
import re
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.errors import ParameterError
from riskmodel.fleet.parsed import Parsed

FIRST_YEAR, LAST_YEAR = 1850, 2200
"""Years read as dates; no small craft in use is older, and beyond lies a slip of the hand (judgement)."""

_ISO = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2})(?:[T ]\d{2}:\d{2}.*)?)?)?")
_SLASHED = re.compile(r"(\d{1,2})([/. -])(\d{1,2})\2(\d{4}|\d{2})")
_SPREADSHEET_DAY_0 = date(1899, 12, 30)

Window = tuple[date, date]


def refuse_other_than_days(**days: object) -> None:
    """Raises ParameterError for a day that is given and is no datetime.date."""
    for name, day in days.items():
        # A datetime is a date to Python, but cannot be compared with one.
        if day is not None and (not isinstance(day, date) or isinstance(day, datetime)):
            raise ParameterError(f"{name} must be a datetime.date, got {day!r}")


def refuse_days_beyond(**days: date | None) -> None:
    """Raises ParameterError for a day that is given and lies in no year of which dates are read."""
    for name, day in days.items():
        if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ParameterError(f"{name} must lie in the years {FIRST_YEAR} to {LAST_YEAR}, got {day}")


def parse_dates(words: NDArray[Any], date_format: str, day_numbers: bool, any_precision: bool) -> Parsed:
    """First and last possible day of each text, shape (n, 2) as datetime64[D]; NaT where there is none.

    ISO dates (2019, 2019-05, 2019-05-14) are always read, days in ``date_format`` where it is not "", and
    day numbers of a spreadsheet where ``day_numbers``. Nothing is guessed: 03/04/2020 breaks a rule.
    """
    windows = np.full((len(words), 2), "NaT", dtype="datetime64[D]")
    rules = np.full(len(words), "", dtype=object)
    advice = _format_advice(words)
    for place, word in enumerate(words):
        if not word:
            continue
        window = _window(word, date_format, day_numbers)
        if window is None:
            rules[place] = _fault(word, date_format, advice)
        elif not any_precision and window[0] != window[1]:
            rules[place] = "must be a day such as 2019-05-14"
        elif not FIRST_YEAR <= window[0].year <= LAST_YEAR:
            rules[place] = f"must lie in the years {FIRST_YEAR} to {LAST_YEAR}"
        else:
            windows[place] = window
    return Parsed(windows, rules)


def _window(word: str, date_format: str, day_numbers: bool) -> Window | None:
    if date_format:
        try:
            day = datetime.strptime(word, date_format).date()
            return day, day
        except ValueError:
            pass
    if day_numbers and re.fullmatch(r"\d{5}(\.\d+)?", word):
        day = _SPREADSHEET_DAY_0 + timedelta(days=int(float(word)))
        return day, day
    return _iso_window(word)


def _iso_window(word: str) -> Window | None:
    match = _ISO.fullmatch(word)
    if match is None:
        return None
    year, month, day = match.groups()
    try:
        if day:
            return date(int(year), int(month), int(day)), date(int(year), int(month), int(day))
        if month:
            last = calendar.monthrange(int(year), int(month))[1]
            return date(int(year), int(month), 1), date(int(year), int(month), last)
        return date(int(year), 1, 1), date(int(year), 12, 31)
    except ValueError:
        return None


def _format_advice(words: NDArray[Any]) -> str:
    """The format that the slashed dates of a column can only have, or both where they allow both."""
    parts = [match.groups() for match in map(_SLASHED.fullmatch, words) if match]
    if not parts:
        return ""
    mark = parts[0][1]
    year = "%Y" if len(parts[0][3]) == 4 else "%y"
    day_first, month_first = f"%d{mark}%m{mark}{year}", f"%m{mark}%d{mark}{year}"
    firsts, seconds = max(int(part[0]) for part in parts), max(int(part[2]) for part in parts)
    if firsts > 12 >= seconds:
        return f'date_format = "{day_first}"'
    if seconds > 12 >= firsts:
        return f'date_format = "{month_first}"'
    return f'date_format = "{day_first}" or "{month_first}"'


def _fault(word: str, date_format: str, advice: str) -> str:
    if date_format:
        return f"must be a date as {date_format} or 2019-05-14, 2019-05 or 2019"
    if _SLASHED.fullmatch(word):
        return f"must not leave the order of day and month open: write {advice} in settings.toml"
    return "must be a date such as 2019-05-14, 2019-05 or 2019"
