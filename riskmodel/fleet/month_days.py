"""Counts days by month and day, in a year that has a 29 February, so that leap years need no cases of their own."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import numpy as np
from numpy.typing import NDArray

DAYS = 366
"""Days of a year with a 29 February; a day's number runs from 0 (01-01) to 365 (12-31)."""

LEAP_DAY = 59
"""The number of 29 February."""


def day_numbers(month_days: Iterable[str]) -> NDArray[np.int64]:
    """The number of each month-day text: ``03-01`` is 60 in every year."""
    # 2000 was a leap year.
    days = np.array([f"2000-{month_day}" for month_day in month_days], dtype="datetime64[D]")
    return (days - np.datetime64("2000-01-01", "D")).astype(np.int64)


def day_number(day: date) -> int:
    """The number of a day of the calendar."""
    return int(day_numbers([day.strftime("%m-%d")])[0])


def numbers_of(days: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """The number of each day of the calendar, in an array of any shape."""
    years = days.astype("datetime64[Y]")
    new_year = years.astype("datetime64[D]")
    numbers = (days - new_year).astype(np.int64)
    common = (years + 1).astype("datetime64[D]") - new_year < np.timedelta64(DAYS, "D")
    found: NDArray[np.int64] = numbers + (common & (numbers >= LEAP_DAY))
    return found


def days_before(start: date, until: date) -> NDArray[np.int64]:
    """How many days from ``start`` up to, not including, ``until`` have a number below 0, 1, ... 366; shape (367,).

    The last is the number of all days; the days numbered ``a`` to ``b - 1`` are ``days[b] - days[a]``.
    """
    numbers = numbers_of(np.arange(np.datetime64(start, "D"), np.datetime64(until, "D")))
    return np.concatenate([[0], np.cumsum(np.bincount(numbers, minlength=DAYS))])
