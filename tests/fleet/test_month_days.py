"""Days counted by month and day."""

import datetime
from collections import Counter

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.fleet.month_days import DAYS, LEAP_DAY, day_number, day_numbers, days_before, numbers_of

dates = st.dates(datetime.date(1890, 1, 1), datetime.date(2110, 12, 31))


def test_a_year_runs_from_nought_to_365():
    assert day_numbers(["01-01", "02-28", "02-29", "03-01", "12-31"]).tolist() == [0, 58, LEAP_DAY, 60, 365]
    assert day_numbers([]).tolist() == []


def test_a_month_and_day_has_one_number_in_every_year():
    assert day_number(datetime.date(2023, 3, 1)) == day_number(datetime.date(2024, 3, 1)) == 60


@given(st.lists(dates, max_size=5))
def test_days_of_the_calendar_have_the_numbers_of_their_month_and_day(days):
    assert numbers_of(np.array(days, dtype="datetime64[D]")).tolist() == [day_number(day) for day in days]


@given(start=dates, length=st.integers(1, 1500))
def test_each_day_is_counted_under_its_number(start, length):
    days = [start + datetime.timedelta(days=ahead) for ahead in range(length)]
    wanted = Counter(day_number(day) for day in days)
    before = days_before(start, days[-1] + datetime.timedelta(days=1))
    assert before.shape == (DAYS + 1,)
    assert {number: before[number + 1] - before[number] for number in wanted} == wanted
    assert before[-1] == length


def test_a_century_has_its_25_or_24_leap_days():
    # 1900 was no leap year, 2000 was: the Gregorian calendar.
    before = days_before(datetime.date(1900, 1, 1), datetime.date(2000, 1, 1))
    assert before[LEAP_DAY + 1] - before[LEAP_DAY] == 24
    before = days_before(datetime.date(2000, 1, 1), datetime.date(2100, 1, 1))
    assert before[LEAP_DAY + 1] - before[LEAP_DAY] == 25
