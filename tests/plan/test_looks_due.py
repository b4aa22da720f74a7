"""When parts are looked at: on firsts of months, never too far apart, wherever the day of asking lies."""

import datetime
import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.plan.season.dates import SeasonDates, within
from riskmodel.plan.season.looks_due import Routine, look_days, month_later, routines
from riskmodel.trade import load_trade

DAY = datetime.date
TRADE = load_trade()
TODAY = DAY(2026, 6, 1)


def test_nobody_without_a_licence_is_asked_for_licensed_work():
    for name, item_class in TRADE.classes.items():
        assert all(each.task.skill != "licensed" for each in routines(item_class, TRADE)), name


@pytest.mark.parametrize("name", sorted(TRADE.classes))
def test_every_class_has_a_look_or_test(name):
    assert routines(TRADE.classes[name], TRADE)


@pytest.mark.parametrize(
    ("day", "first", "last", "inside"),
    [
        ((2026, 1, 1), "10-01", "04-30", True),
        ((2026, 4, 30), "10-01", "04-30", True),
        ((2026, 5, 1), "10-01", "04-30", False),
        ((2026, 5, 1), "04-15", "10-15", True),
        ((2026, 10, 16), "04-15", "10-15", False),
    ],
)
def test_seasons_hold_both_their_ends(day, first, last, inside):
    assert within(DAY(*day), first, last) is inside


def free(today, until, **more):
    whole = {
        "starts": (),
        "ends": (),
        "haul_outs": (),
        "haul_out_told": "",
        "dry": False,
        "wet_winter": False,
    }
    return SeasonDates(today, until, today, DAY(today.year, 1, 1), soon=today, **(whole | more))


MOVE_WATER = next(task for task in TRADE.classes["bilge_pump"].tasks if task.task == "move_water")


@settings(max_examples=200, deadline=None)
@given(
    st.dates(DAY(2024, 1, 1), DAY(2026, 12, 31)),
    st.integers(1, 18),
    st.none() | st.integers(0, 1500),
    st.integers(30, 800),
)
def test_looks_never_lie_further_apart_than_their_interval_and_a_half(today, months, ago, ahead):
    dates = free(today, today + datetime.timedelta(days=ahead))
    last = None if ago is None else today - datetime.timedelta(days=ago)
    days = list(look_days(Routine(MOVE_WATER, months), last, dates))
    assert days == sorted(set(days))
    assert all(today <= day <= dates.until for day in days)
    longest = 31 * (3 * months // 2 + 1)
    edges = [max(last, today) if last else today, *days, dates.until]
    assert all((after - day).days <= longest for day, after in itertools.pairwise(edges))
    if last is None or month_later(last, months) <= today:
        assert days[0] == today


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 12), st.integers(0, 200), st.integers(1, 120))
def test_a_look_put_off_keeps_its_month(months, ago, later):
    """Asked again later without a look in between, every look that is still ahead falls in a month it fell in before,
    or is overdue."""
    today = DAY(2026, 3, 10)
    last = today - datetime.timedelta(days=ago)
    routine, until = Routine(MOVE_WATER, months), DAY(2027, 12, 31)
    asked_on = today + datetime.timedelta(days=later)
    nominal = set()
    day = month_later(last, months)
    while day <= until:
        nominal.add(day)
        day = month_later(day, months)
    assert set(look_days(routine, last, free(today, until))) <= nominal | {today}
    assert set(look_days(routine, last, free(asked_on, until))) <= nominal | {asked_on}


def test_work_ashore_is_done_on_the_days_ashore():
    look = next(task for task in TRADE.classes["bellows_drive"].tasks if task.task == "look_in_folds")
    dates = free(TODAY, DAY(2027, 6, 1), haul_outs=(TODAY, DAY(2027, 3, 1)))
    assert list(look_days(Routine(look, 6), None, dates)) == [TODAY, DAY(2027, 3, 1)]


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [((2026, 1, 31), 1, (2026, 2, 1)), ((2026, 12, 5), 1, (2027, 1, 1)), ((2026, 6, 1), 18, (2027, 12, 1))],
)
def test_months_are_counted_by_their_firsts(day, months, later):
    assert month_later(DAY(*day), months) == DAY(*later)
