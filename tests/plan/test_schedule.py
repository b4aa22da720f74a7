"""When boats are ashore anyway, and where the yard's hours put the work."""

import datetime

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.plan.budget.schedule import dated, haul_outs, hire_season, upcoming
from riskmodel.risk.haul_out import hauled_yearly
from riskmodel.risk.horizon import given_horizon

DAY = datetime.date(2026, 6, 1)
HORIZON = given_horizon(DAY, datetime.date(2026, 12, 1))


def lift(date, event="hauled", boat="B1"):
    return {"vessel_id": boat, "date": date, "event": event}


@pytest.fixture(scope="module")
def out(fleet_of):
    """The row of boat B1 in haul_outs."""

    def run(records=None, boat=None, settings="", day=DAY):
        items = [{"item_class": "bellows_drive", "installed_on": "2020-05-01"}]
        fleet = fleet_of(items, records, [boat or {}], settings, as_of=day)
        return haul_outs(fleet, hauled_yearly(fleet, day), day).iloc[0]

    return run


@pytest.mark.parametrize("kept", ["trailer", "rack", "ashore"])
def test_a_boat_kept_dry_is_out_any_day(out, kept):
    row = out(boat={"kept": kept})
    assert row["out_now"]
    assert row["next_on"] is None


def test_a_boat_hauled_last_spring_comes_out_at_the_same_time_next_year(out):
    row = out([lift("2026-03-12"), lift("2026-04-10", "launched")])
    assert not row["out_now"]
    assert row["next_on"] == datetime.date(2027, 3, 12)


def test_a_boat_hauled_and_not_launched_is_out(out):
    assert out([lift("2025-04-10", "launched"), lift("2026-05-12")])["out_now"]


def test_a_yearly_boat_in_its_season_comes_out_the_day_after_it(out):
    row = out(boat={"season_start": "04-15", "season_end": "10-15"})
    assert row["next_on"] == datetime.date(2026, 10, 16)


def test_the_fleets_season_stands_for_a_boat_without_one(out):
    row = out(settings='season_start = "04-01"\nseason_end = "09-30"\n')
    assert row["next_on"] == datetime.date(2026, 10, 1)


def test_outside_its_season_a_yearly_boat_is_ashore(out):
    assert out(boat={"season_start": "07-01", "season_end": "10-15"})["out_now"]


def test_a_southern_season_crosses_the_years_end(out):
    southern = {"season_start": "10-15", "season_end": "04-15"}
    assert out(boat=southern)["out_now"]
    row = out(boat=southern, day=datetime.date(2026, 1, 10))
    assert row["next_on"] == datetime.date(2026, 4, 16)


def test_in_the_tropics_no_lift_is_paid_for_anyway(out):
    row = out(boat={"climate": "hot"})
    assert not row["out_now"]
    assert row["next_on"] is None
    assert row["known_by"] == "no lift is paid for anyway"


def test_without_a_date_the_lift_is_half_a_year_off(out):
    assert out()["next_on"] == DAY + datetime.timedelta(days=183)


def test_periods_say_when_a_boat_is_ashore(fleet_of, written):
    folder = written([{"item_class": "bellows_drive"}], None, [{}])
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,11-01,03-31,ashore\n")
    from riskmodel.fleet import load_fleet

    fleet = load_fleet(folder, as_of=DAY, today=DAY)
    assert haul_outs(fleet, frozenset(), DAY)["next_on"].iloc[0] == datetime.date(2026, 11, 1)
    winter = datetime.date(2026, 12, 24)
    assert haul_outs(fleet, frozenset(), winter)["out_now"].iloc[0]


@given(st.dates(datetime.date(1999, 1, 1), datetime.date(2101, 1, 1)), st.dates())
def test_an_upcoming_day_lies_within_the_year_ahead(day, other):
    found = upcoming(f"{other:%m-%d}", day)
    assert day < found <= day + datetime.timedelta(days=366)


def test_the_29th_of_february_falls_on_the_28th():
    assert upcoming("02-29", datetime.date(2026, 1, 1)) == datetime.date(2026, 2, 28)
    assert upcoming("02-29", datetime.date(2028, 1, 1)) == datetime.date(2028, 2, 29)


def test_only_boats_let_by_the_day_cost_hire_in_their_season(fleet_of):
    season = {"season_start": "04-15", "season_end": "10-15"}
    boats = [
        {"vessel_id": "B1", "day_rate": 300, **season},
        {"vessel_id": "B2", **season},
        {"vessel_id": "B3", "day_rate": 300, "season_start": "07-01", "season_end": "08-30"},
    ]
    fleet = fleet_of([{"item_class": "deck_bedding"}], boats=boats)
    assert hire_season(fleet, DAY) == {"B1"}


def work(*rows):
    plain = {"date": DAY, "vessel_id": "B1", "skill": "yard", "hours": 5.0, "out_of_water": False}
    return pd.DataFrame([plain | {"urgency": number} | row for number, row in enumerate(rows)])


def test_without_a_limit_every_day_stays():
    some = work({}, {"hours": 5000.0})
    assert dated(some, None, HORIZON).tolist() == [DAY, DAY]


def test_the_most_urgent_work_comes_first_and_the_rest_moves_on():
    days = dated(work({"urgency": 2}, {"urgency": 1}), 6.0, HORIZON)
    assert days.tolist() == [datetime.date(2026, 7, 1), DAY]


def test_an_owners_time_takes_none_of_the_yards():
    assert dated(work({"skill": "owner"}, {"skill": "licensed"}), 5.0, HORIZON).tolist() == [DAY, DAY]


def test_work_longer_than_a_month_runs_on():
    assert dated(work({"hours": 12.0}), 5.0, HORIZON).tolist() == [datetime.date(2026, 8, 1)]


def test_work_in_one_haul_out_is_done_together():
    some = work({"out_of_water": True}, {}, {"out_of_water": True, "urgency": 9})
    days = dated(some, 10.0, HORIZON)
    assert days[0] == days[2] == DAY
    assert days[1] == datetime.date(2026, 7, 1)


def test_what_finds_no_hours_has_no_day():
    days = dated(work({}, {"hours": 500.0}, {}), 5.0, HORIZON)
    assert days[0] == DAY
    assert days[1] is None
    assert days[2] == datetime.date(2026, 7, 1)


def test_nothing_is_dated_before_it_can_be_done():
    later = datetime.date(2026, 9, 20)
    assert dated(work({"date": later}), 50.0, HORIZON).tolist() == [later]


@settings(max_examples=50)
@given(
    st.lists(st.floats(0.5, 30), min_size=1, max_size=12),
    st.floats(0.0, 40),
)
def test_no_more_hours_are_used_than_there_are(hours, monthly):
    some = work(*({"hours": each} for each in hours))
    days = dated(some, monthly, HORIZON)
    placed = some.loc[days.notna(), "hours"].sum()
    # June to December: seven months begin before the horizon ends.
    assert placed <= 7 * monthly + 1e-6
