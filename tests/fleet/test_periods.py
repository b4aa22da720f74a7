"""How the days of a horizon are spent, boat by boat."""

import datetime
import time
from collections import Counter
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.fleet import states_by_day, year_shares
from riskmodel.fleet.month_days import day_numbers
from riskmodel.fleet.periods import year_spans

HEAD = "vessel_id,from,to,state,visited_every_days,shore_power\n"
ONE = "vessel_id,propulsion,value,kept,checked_every_days,shore_power\nWren,sterndrive,1,afloat,5,yes\n"
DAY = datetime.timedelta(days=1)


def day(text):
    return datetime.date.fromisoformat(text)


@pytest.fixture
def shares(load):
    """The shares of one boat's horizon, or of other boats'; periods as lines of text."""

    def found(periods, start="2025-01-01", until="2026-01-01", vessels=ONE):
        fleet = load(vessels=vessels, periods=HEAD + "".join(f"{line}\n" for line in periods))
        return year_shares(fleet, day(start), day(until))

    return found


def days_of(frame, count):
    """Days in each state."""
    summed = (frame["share"] * count).groupby(frame["state"]).sum()
    return {state: pytest.approx(days, abs=1e-9) for state, days in summed.items()}


@pytest.mark.parametrize(
    ("kept", "state"),
    [
        ("afloat", "in_use"),
        ("mooring", "in_use"),
        ("trailer", "on_trailer"),
        ("rack", "ashore"),
        ("ashore", "ashore"),
    ],
)
def test_a_boat_without_periods_spends_its_year_as_it_is_kept(shares, kept, state):
    frame = shares([], vessels=ONE.replace("afloat", kept))
    assert frame.to_dict("records") == [
        {
            "vessel_id": "Wren",
            "state": state,
            "share": 1.0,
            "visited_every_days": 5.0,
            "shore_power": True,
        }
    ]


def test_the_columns_keep_their_types_with_and_without_periods(shares):
    none, some = shares([]), shares(["Wren,10-21,04-14,ashore,,"])
    for frame in (none, some):
        assert list(frame) == ["vessel_id", "state", "share", "visited_every_days", "shore_power"]
        assert frame["share"].dtype == frame["visited_every_days"].dtype == np.float64
        assert frame["shore_power"].dtype == bool
        assert frame["state"].dtype == frame["vessel_id"].dtype == object


def test_both_ends_of_a_period_belong_to_it(shares):
    frame = shares(["Wren,06-01,06-30,afloat_unattended,,"])
    assert days_of(frame, 365) == {"afloat_unattended": 30, "in_use": 335}


def test_a_period_of_one_day_is_one_day(shares):
    assert days_of(shares(["Wren,06-01,06-01,ashore,,"]), 365) == {"ashore": 1, "in_use": 364}


def test_a_period_crosses_the_years_end(shares):
    # 21 to 31 October, November, December; January, February, March, 1 to 14 April.
    frame = shares(["Wren,10-21,04-14,ashore,,"])
    assert days_of(frame, 365) == {"ashore": 11 + 30 + 31 + 31 + 28 + 31 + 14, "in_use": 189}


def test_a_leap_year_gives_its_day_to_the_period_it_lies_in(shares):
    frame = shares(["Wren,10-21,04-14,ashore,,"], "2024-01-01", "2025-01-01")
    assert days_of(frame, 366) == {"ashore": 177, "in_use": 189}


def test_a_southern_boat_is_laid_up_in_its_winter(shares):
    # In use over the turn of the year, laid up from May to September.
    periods = ["Wren,10-01,04-30,in_use,3,", "Wren,05-01,09-30,ashore,30,"]
    frame = shares(periods, "2025-07-01", "2026-07-01")
    assert days_of(frame, 365) == {"ashore": 31 + 30 + 31 + 31 + 30, "in_use": 212}
    assert frame["state"].tolist() == ["ashore", "in_use"]
    assert frame["visited_every_days"].tolist() == [30, 3]


def test_a_short_horizon_knows_only_the_periods_in_it(shares):
    periods = ["Wren,10-21,04-14,ashore,,", "Wren,07-01,07-31,afloat_unattended,,"]
    frame = shares(periods, "2025-05-01", "2025-05-11")
    assert frame["state"].tolist() == ["in_use"]
    assert frame["share"].tolist() == [1.0]
    frame = shares(periods, "2025-06-26", "2025-07-06")
    assert frame[["state", "share"]].to_numpy().tolist() == [["in_use", 0.5], ["afloat_unattended", 0.5]]


def test_the_last_day_of_the_horizon_is_not_in_it(shares):
    frame = shares(["Wren,06-01,06-30,ashore,,"], "2025-06-30", "2025-07-01")
    assert frame["state"].tolist() == ["ashore"]
    frame = shares(["Wren,06-01,06-30,ashore,,"], "2025-05-31", "2025-06-01")
    assert frame["state"].tolist() == ["in_use"]


def test_a_horizon_of_years_counts_each_of_them(shares):
    # 2024 and 2028 have a 29 February.
    frame = shares(["Wren,02-01,02-29,ashore,,"], "2024-01-01", "2029-01-01")
    assert days_of(frame, 1827) == {"ashore": 5 * 28 + 2, "in_use": 1827 - 142}


def test_the_29th_of_february_alone_belongs_to_the_period_before_it(shares):
    periods = ["Wren,11-01,02-28,ashore,,", "Wren,03-01,10-31,in_use,,"]
    assert days_of(shares(periods, "2024-02-01", "2024-03-11"), 39) == {"ashore": 29, "in_use": 10}


def test_the_29th_of_february_can_be_a_period(shares):
    periods = ["Wren,02-29,02-29,ashore,,"]
    assert days_of(shares(periods, "2024-02-01", "2024-03-01"), 29) == {"ashore": 1, "in_use": 28}
    assert days_of(shares(periods, "2025-02-01", "2025-03-01"), 28) == {"in_use": 28}


@pytest.mark.parametrize("period", ["01-01,12-31", "04-15,04-14", "03-01,02-28", "03-01,02-29"])
def test_a_period_can_be_the_whole_year(shares, period):
    frame = shares([f"Wren,{period},laid_up_afloat,,"], "2024-01-01", "2025-01-01")
    assert frame["state"].tolist() == ["laid_up_afloat"]
    assert frame["share"].tolist() == [1.0]


def test_a_periods_own_word_comes_before_the_boats(shares):
    periods = ["Wren,10-01,12-31,ashore,,", "Wren,01-01,03-31,ashore,30,no", "Wren,04-01,05-31,ashore,,yes"]
    frame = shares(periods, "2025-04-01", "2026-04-01")
    assert frame["state"].tolist() == ["ashore", "in_use", "ashore"]
    assert frame["visited_every_days"].tolist() == [5, 5, 30]
    assert frame["shore_power"].tolist() == [True, True, False]
    # The first row is two periods that say the same.
    assert frame["share"][0] == pytest.approx((30 + 31 + 31 + 30 + 31) / 365)


def test_no_in_a_period_is_an_answer_and_an_empty_cell_is_none(shares):
    boats = ONE.replace("yes", "no")
    periods = ["Wren,01-01,03-31,afloat_unattended,,yes", "Wren,04-01,12-31,in_use,,"]
    assert shares(periods, vessels=boats)["shore_power"].tolist() == [True, False]


def test_boats_stand_in_the_fleets_order_and_rows_by_their_first_day(shares):
    vessels = "vessel_id,propulsion,value\nWren,sterndrive,1\nTern,sail_shaft,1\nKnot,outboard,1\n"
    periods = ["Tern,09-01,10-31,ashore,,", "Tern,02-01,04-30,on_trailer,,", "Wren,03-01,05-31,ashore,,"]
    frame = shares(periods, "2025-04-01", "2026-04-01", vessels)
    assert frame[["vessel_id", "state"]].to_numpy().tolist() == [
        ["Wren", "ashore"],
        ["Wren", "in_use"],
        ["Tern", "on_trailer"],
        ["Tern", "in_use"],
        ["Tern", "ashore"],
        ["Knot", "on_trailer"],
    ]


def test_the_order_of_the_periods_table_changes_nothing(shares):
    periods = ["Wren,09-01,10-31,ashore,,", "Wren,02-01,04-30,on_trailer,9,", "Wren,06-01,06-09,in_use,1,no"]
    pd.testing.assert_frame_equal(shares(periods), shares(periods[::-1]))


def test_a_boat_that_left_the_fleet_is_passed_by(load):
    fleet = load(periods=HEAD + "Plover,06-01,06-30,ashore,,\n")
    rest = replace(fleet, vessels=fleet.vessels[:1])
    assert year_shares(rest, day("2025-01-01"), day("2026-01-01"))["vessel_id"].tolist() == ["Wren"]


def test_a_changed_boat_changes_what_its_periods_leave_open(load):
    fleet = load(vessels=ONE, periods=HEAD + "Wren,06-01,06-30,afloat_unattended,,\n")
    changed = replace(fleet, vessels=fleet.vessels.assign(checked_every_days=90.0, shore_power=False))
    frame = year_shares(changed, day("2025-01-01"), day("2026-01-01"))
    assert frame["visited_every_days"].tolist() == [90, 90]
    assert frame["shore_power"].tolist() == [False, False]


def test_the_fleet_is_left_as_it_was(load):
    fleet = load(vessels=ONE, periods=HEAD + "Wren,06-01,06-30,ashore,,\n")
    before = {name: getattr(fleet, name).copy(deep=True) for name in ("vessels", "periods")}
    year_shares(fleet, day("2025-01-01"), day("2026-01-01"))
    for name, frame in before.items():
        pd.testing.assert_frame_equal(getattr(fleet, name), frame)


month_days = st.dates(datetime.date(2000, 1, 1), datetime.date(2000, 12, 31)).map(
    lambda at: at.strftime("%m-%d")
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    ends=st.lists(month_days, min_size=2, max_size=6, unique=True),
    turn=st.integers(0, 5),
    start=st.dates(datetime.date(2019, 1, 1), datetime.date(2029, 1, 1)),
    length=st.integers(1, 1200),
)
def test_every_day_is_counted_once_in_the_state_it_lies_in(shares, ends, turn, start, length):
    states = ("afloat_unattended", "ashore", "on_trailer")
    turned = sorted(ends)
    turned = turned[turn % len(turned) :] + turned[: turn % len(turned)]
    pairs = list(zip(turned[::2], turned[1::2], strict=False))
    lines = [f"Wren,{first},{last},{states[place]},," for place, (first, last) in enumerate(pairs)]
    until = start + length * DAY
    frame = shares(lines, start.isoformat(), until.isoformat())

    def state_on(at):
        text = at.strftime("%m-%d")
        for place, (first, last) in enumerate(pairs):
            # 29 February alone between two periods belongs to the former.
            over = "02-29" if last == "02-28" and "03-01" in turned[::2] else last
            if first <= text <= over if first <= last else text >= first or text <= over:
                return states[place]
        return "in_use"

    wanted = Counter(state_on(start + ahead * DAY) for ahead in range(length))
    assert days_of(frame, length) == dict(wanted)
    assert frame["share"].gt(0).all()
    assert frame["share"].sum() == pytest.approx(1, abs=1e-12)
    # One row a state, for the periods say nothing else; in the order in which the days come.
    assert frame["state"].tolist() == list(dict.fromkeys(state_on(start + n * DAY) for n in range(length)))


def test_days_between_periods_are_spans_of_their_own():
    periods = pd.DataFrame(
        {"vessel_id": ["A", "B", "A"], "from": ["10-01", "01-01", "02-01"], "to": ["12-31", "12-31", "03-31"]}
    )
    spans = year_spans(periods)
    between = spans[spans["row"] < 0]
    assert between[["vessel_id", "first", "length"]].to_numpy().tolist() == [
        ["A", day_numbers(["04-01"])[0], 183],
        ["A", 0, 31],
    ]
    assert spans.groupby("vessel_id")["length"].sum().tolist() == [366, 366]


@pytest.mark.parametrize("until", ["2025-01-01", "2024-12-31"])
def test_a_horizon_without_days_is_refused(shares, until):
    with pytest.raises(ParameterError, match=f"until must lie after 2025-01-01, got {until}"):
        shares([], "2025-01-01", until)


@pytest.mark.parametrize("name", ["start", "until"])
def test_a_horizon_of_other_things_than_days_is_refused(load, name):
    ends = {"start": day("2025-01-01"), "until": day("2026-01-01"), name: "2025-06-01"}
    with pytest.raises(ParameterError, match=f"{name} must be a datetime.date, got '2025-06-01'"):
        year_shares(load(), **ends)


def test_two_thousand_boats_take_no_time(load):
    boats = "".join(f"B{number},sterndrive,30000\n" for number in range(2000))
    lines = "".join(f"B{number},10-21,04-14,ashore,,\n" for number in range(0, 2000, 40))
    fleet = load(vessels=f"vessel_id,propulsion,value\n{boats}", periods=HEAD + lines)
    year_shares(fleet, day("2025-01-01"), day("2026-01-01"))
    times = []
    for _ in range(5):
        began = time.perf_counter()
        frame = year_shares(fleet, day("2025-01-01"), day("2026-01-01"))
        times.append(time.perf_counter() - began)
    assert len(frame) == 2050
    assert min(times) < 0.1


@pytest.mark.parametrize(
    "periods", [[], ["Wren,10-21,04-14,ashore,,", "Wren,06-01,06-30,afloat_unattended,,"]]
)
def test_states_by_day_are_the_shares_of_a_leap_year(load, periods):
    fleet = load(vessels=ONE, periods=HEAD + "".join(f"{line}\n" for line in periods))
    names, (places,) = states_by_day(fleet)
    days = np.array(names)[places]
    frame = year_shares(fleet, day("2024-01-01"), day("2025-01-01"))
    assert Counter(days) == days_of(frame, 366)
    if periods:
        assert days[day_numbers(["10-20", "10-21", "04-14", "04-15"])].tolist() == [
            *("in_use", "ashore", "ashore", "in_use")
        ]
