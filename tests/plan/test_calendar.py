"""The calendar: nothing late, nothing twice, in the group it belongs to, wherever the boat lies."""

import datetime
import itertools

import pandas as pd
import pytest

from riskmodel.fleet import load_fleet
from riskmodel.plan.season.calendar import (
    BEFORE_USE,
    COLUMNS,
    FIRST_TRIP,
    GROUPS,
    HAUL_OUT,
    IN_WATER,
    season_calendar,
)
from riskmodel.plan.season.dates import season_dates
from riskmodel.plan.season.renewals import renewal_limits, renewals_due
from riskmodel.plan.season.season import season_of
from riskmodel.risk import months_ahead
from riskmodel.trade import load_trade

pytestmark = pytest.mark.thorough

DAY = datetime.date
TRADE = load_trade()
TODAY = DAY(2026, 6, 1)


def calendar_of(fleet, vessel_id="B1", months=None):
    until = months_ahead(fleet.as_of, months) if months else None
    return season_calendar(season_of(fleet, vessel_id, until).result)


def days_of(calendar, item, task):
    rows = calendar.tasks[(calendar.tasks["item_id"] == item) & (calendar.tasks["task"] == task)]
    return list(rows["due"])


@pytest.fixture(scope="module")
def dunlin(demo_fleet):
    return calendar_of(demo_fleet, "L01")


@pytest.fixture(scope="module")
def whimbrel(demo_fleet):
    return calendar_of(demo_fleet, "L05")


@pytest.fixture(scope="module")
def whimbrel_result(demo_fleet):
    return season_of(demo_fleet, "L05").result


def test_every_task_falls_between_the_day_and_the_end(dunlin, whimbrel):
    for calendar in (dunlin, whimbrel):
        assert list(calendar.tasks.columns) == list(COLUMNS)
        assert calendar.tasks["due"].between(calendar.dates.today, calendar.dates.until).all()
        assert set(calendar.tasks["group"]) <= set(GROUPS)
        assert (calendar.tasks["cost"] >= 0).all()


def test_times_of_a_task_are_counted_from_the_next_one_on(dunlin, whimbrel):
    for calendar in (dunlin, whimbrel):
        for _, rows in calendar.tasks.groupby(["item_id", "task"]):
            assert list(rows.sort_values("due")["number"]) == list(range(1, len(rows) + 1))
        assert not calendar.tasks.duplicated(["item_id", "task", "due"]).any()


def test_known_defects_come_first_and_today(whimbrel, whimbrel_result):
    defects = whimbrel_result.frame[whimbrel_result.frame["group"] == "known defect"]
    all_first = whimbrel.tasks[whimbrel.tasks["group"] == BEFORE_USE]
    first = all_first.head(len(defects))
    assert list(first["item_id"]) == list(defects["item_id"])
    assert set(all_first["due"]) == {whimbrel.dates.today}
    assert (first["does"] == "renew").all()
    # After them nothing but looks that cannot wait.
    assert set(all_first["does"].iloc[len(defects) :]) <= {"inspect", "test"}
    assert list(whimbrel.tasks.index[: len(first)]) == list(first.index)


def test_whatever_is_overdue_is_due_now(whimbrel, whimbrel_result):
    overdue = whimbrel_result.frame.loc[whimbrel_result.frame["overdue"], "item_id"]
    assert len(overdue) > 0
    renewals = whimbrel.tasks[whimbrel.tasks["does"] == "renew"].set_index("item_id")["due"]
    assert (renewals[overdue] == whimbrel.dates.today).all()


def test_no_renewal_comes_later_than_the_makers_or_the_trades_age(whimbrel, whimbrel_result):
    limits = renewal_limits(whimbrel_result)
    age = whimbrel_result.frame.set_index("item_id")["age_years"]
    renewals = whimbrel.tasks[whimbrel.tasks["does"] == "renew"]
    seen = 0
    for item, due in zip(renewals["item_id"], renewals["due"], strict=True):
        if item in limits and due > whimbrel.dates.first_trip:
            assert age[item] + (due - whimbrel.dates.today).days / 365.25 <= limits[item][0] + 0.01
            seen += 1
    assert seen + len(renewals) > 5


def test_every_part_that_falls_due_has_its_renewal_planned(whimbrel_result):
    dates = season_dates(whimbrel_result)
    due = renewals_due(whimbrel_result, dates)
    years = whimbrel_result.horizon.years
    age = whimbrel_result.frame.set_index("item_id")["age_years"]
    for item, (limit, _) in renewal_limits(whimbrel_result).items():
        if age[item] + years >= limit + 0.01:
            assert item in due


def test_the_maker_is_heard_before_the_trade(fleet_of):
    items = [
        {"item_class": "raw_water_hose", "installed_on": "2023-06-01", "maker_interval_years": 3.5},
        {"item_class": "raw_water_hose", "installed_on": "2023-06-01"},
    ]
    result = season_of(fleet_of(items, boats=[{"propulsion": "sterndrive"}]), "B1").result
    limits = renewal_limits(result)
    assert limits["I0"] == (3.5, "maker")
    assert limits["I1"] == (4.0, "trade")
    due = renewals_due(result, season_dates(result))
    assert due["I0"].by == DAY(2026, 11, 30)
    assert "maker renews at 3.5 y" in due["I0"].why
    assert "I1" not in due or due["I1"].by <= DAY(2027, 6, 1)


def test_pumps_switches_and_alarms_are_tested_at_least_quarterly(fleet_of):
    """Common practice, no source: pumps tested at least quarterly."""
    items = [{"item_class": name, "installed_on": "2026-03"} for name in ("bilge_pump", "float_switch")]
    calendar = calendar_of(fleet_of(items), months=12)
    for item, task in (("I0", "move_water"), ("I1", "lift_with_water")):
        days = [TODAY, *days_of(calendar, item, task), calendar.dates.until]
        assert max((after - day).days for day, after in itertools.pairwise(days)) <= 92


def test_bellows_are_looked_at_twice_a_season(dunlin):
    """Common practice, no source: at the start and at the end of the season, ashore."""
    days = days_of(dunlin, "L01-bellows-drive-1", "look_in_folds")
    assert days == [DAY(2027, 4, 1), DAY(2027, 10, 15)]
    rows = dunlin.tasks[dunlin.tasks["task"] == "look_in_folds"]
    assert set(rows["group"]) == {HAUL_OUT}


def test_work_out_of_the_water_is_done_on_days_ashore_unless_it_cannot_wait(dunlin):
    ashore = dunlin.tasks[dunlin.tasks["out_of_water"]]
    assert set(ashore["group"]) == {HAUL_OUT}
    assert set(ashore["due"]) <= {*dunlin.dates.haul_outs, dunlin.dates.today}


def test_what_is_in_the_water_comes_after_the_first_trip(dunlin):
    wet = dunlin.tasks[dunlin.tasks["group"] == IN_WATER]
    # But for looks that pay on a boat that is taken to lie afloat: no period has it ashore.
    asked = wet["due"] == dunlin.dates.soon
    assert (wet.loc[~asked, "due"] > dunlin.dates.first_trip).all()
    assert (wet.loc[asked, "why"] == "averts more loss than it costs").all()
    assert not wet["out_of_water"].any()
    assert (dunlin.tasks.loc[dunlin.tasks["group"] == FIRST_TRIP, "due"] <= dunlin.dates.first_trip).all()


def test_a_boat_afloat_all_winter_has_its_pumps_tested_then(whimbrel):
    assert whimbrel.dates.wet_winter
    rows = whimbrel.tasks[(whimbrel.tasks["task"] == "move_water") & (whimbrel.tasks["group"] == IN_WATER)]
    assert (rows["due"] < whimbrel.dates.first_trip).any()


def test_no_look_is_asked_of_a_part_about_to_be_renewed(whimbrel):
    now = whimbrel.tasks[
        (whimbrel.tasks["does"] == "renew") & (whimbrel.tasks["due"] == whimbrel.dates.today)
    ]
    others = whimbrel.tasks[
        (whimbrel.tasks["does"] != "renew") & whimbrel.tasks["item_id"].isin(now["item_id"])
    ]
    assert (others["due"] > whimbrel.dates.today).all()
    assert others["why"].str.contains("once renewed").all()


def test_what_can_kill_is_not_put_off(demo_fleet):
    teal = calendar_of(demo_fleet, "L16")
    hose = teal.tasks[teal.tasks["item_id"] == "L16-fuel-feed-hose-1"].iloc[0]
    assert hose["does"] == "renew"
    assert hose["due"] == teal.dates.today


def test_a_rode_that_can_kill_is_looked_at_before_the_first_trip(demo_fleet):
    merganser = calendar_of(demo_fleet, "L23")
    rows = merganser.tasks[merganser.tasks["why"].str.contains("can kill: ", regex=False)]
    assert (rows["due"] <= merganser.dates.first_trip).all()
    assert len(rows) > 0


def test_every_trip_begins_with_fumes_on_a_gasoline_boat(dunlin):
    assert dunlin.every_trip[0].startswith("Run the blower and sniff")
    assert any("Look in the bilge" in line for line in dunlin.every_trip)
    assert any(line.startswith("Drain plug: turn it home") for line in dunlin.every_trip)


def test_a_boat_without_gasoline_and_blower_is_not_told_of_fumes(fleet_of):
    boat = {"propulsion": "sail_shaft", "fuel": "diesel"}
    calendar = calendar_of(fleet_of([{"item_class": "shaft_packing"}], boats=[boat]))
    assert not any("blower" in line for line in calendar.every_trip)
    assert any("Count drips" in line or "count drips" in line for line in calendar.every_trip)


def test_habits_of_every_trip_have_no_dates_but_one_today_where_no_trip_comes_first(dunlin):
    habits = {"turn_and_look", "paper_at_outlet", "open_and_clean"}
    plug = dunlin.tasks[dunlin.tasks["item_class"].isin(["drain_plug", "engine_blower", "sea_strainer"])]
    plug = plug[plug["task"].isin(habits)]
    assert (plug["due"] == dunlin.dates.today).all()
    assert (plug["why"] == "averts more loss than it costs").all()


def test_a_boat_in_use_has_its_habits_on_every_trip_alone(fleet_of):
    items = [{"item_class": name} for name in ("drain_plug", "engine_blower", "sea_strainer")]
    calendar = calendar_of(fleet_of(items))
    assert not set(calendar.tasks["task"]) & {"turn_and_look", "paper_at_outlet", "open_and_clean"}
    assert len(calendar.every_trip) > 3


SOUTH = {"season_start": "10-01", "season_end": "04-30", "climate": "temperate"}


def test_a_season_across_the_years_end_has_its_days(fleet_of):
    items = [{"item_class": "bilge_pump", "installed_on": "2022"}, {"item_class": "bellows_drive"}]
    calendar = calendar_of(fleet_of(items, boats=[SOUTH]))
    assert calendar.dates.first_trip == DAY(2026, 10, 1)
    assert calendar.dates.haul_outs == (DAY(2026, 9, 17), DAY(2027, 4, 30))
    assert days_of(calendar, "I0", "move_water") == [DAY(2026, 10, 1), DAY(2027, 1, 1), DAY(2027, 4, 1)]
    assert calendar.dates.in_season(DAY(2027, 1, 15))
    assert not calendar.dates.in_season(DAY(2026, 9, 30))


def test_in_the_tropics_there_is_no_lay_up(fleet_of):
    items = [{"item_class": "bilge_pump", "installed_on": "2022"}, {"item_class": "bellows_drive"}]
    calendar = calendar_of(fleet_of(items, boats=[{"climate": "tropical"}]))
    assert calendar.dates.first_trip == TODAY
    assert calendar.dates.ends == ()
    assert all(calendar.dates.in_season(TODAY + datetime.timedelta(days=n)) for n in range(0, 365, 7))
    days = days_of(calendar, "I0", "move_water")
    assert days == [TODAY, DAY(2026, 7, 1), DAY(2026, 10, 1), DAY(2027, 1, 1), DAY(2027, 4, 1)]
    assert calendar.dates.haul_outs == (TODAY,)


def test_a_boat_that_lives_ashore_needs_no_haul_out(fleet_of):
    boat = {"kept": "trailer", "propulsion": "outboard"}
    calendar = calendar_of(
        fleet_of([{"item_class": "sacrificial_anode", "installed_on": "2026-04"}], boats=[boat])
    )
    assert calendar.dates.dry
    assert calendar.dates.haul_outs == ()
    rows = calendar.tasks[calendar.tasks["out_of_water"]]
    assert set(rows["group"]) == {HAUL_OUT}
    assert len(rows) > 1


def test_periods_say_when_a_boat_is_ashore(written):
    folder = written([{"item_class": "bellows_drive"}], settings="as_of = 2026-06-01\n")
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,11-01,03-31,ashore\n")
    dates = calendar_of(load_fleet(folder)).dates
    assert dates.haul_outs == (DAY(2026, 11, 1),)
    assert not dates.wet_winter


def test_the_last_lift_on_record_tells_the_next(fleet_of):
    lifts = [{"vessel_id": "B1", "date": "2025-09-01", "event": "hauled"}]
    calendar = calendar_of(fleet_of([{"item_class": "bellows_drive"}], lifts))
    assert calendar.dates.haul_outs == (DAY(2026, 9, 1),)


def test_a_leap_day_in_a_season_is_the_day_before_in_common_years(fleet_of):
    boats = [{"season_start": "02-29", "season_end": "11-30"}]
    dates = calendar_of(fleet_of([{"item_class": "bilge_pump"}], boats=boats), months=24).dates
    assert dates.starts == (DAY(2027, 2, 28), DAY(2028, 2, 29))


def test_the_yard_is_asked_once_for_what_it_looks_at_ashore(dunlin, whimbrel):
    for calendar in (dunlin, whimbrel):
        rows = calendar.tasks[(calendar.tasks["skill"] == "yard") & (calendar.tasks["does"] == "inspect")]
        rows = rows[rows["out_of_water"]]
        assert not rows.duplicated(["item_id", "task"]).any()


def test_costs_are_those_of_the_ranking_without_the_lift(whimbrel, whimbrel_result):
    pump = whimbrel.tasks[whimbrel.tasks["item_id"] == "L05-bilge-pump-1"].iloc[0]
    row = whimbrel_result.frame.set_index("item_id").loc["L05-bilge-pump-1"]
    assert pump["cost"] == pytest.approx(row["task_cost"] - row["haul_out_cost"])


def test_a_typical_outfit_is_marked_as_assumed(demo_fleet):
    calendar = calendar_of(demo_fleet, "L25")
    assert calendar.tasks["assumed"].all()
    assert (calendar.tasks["why"].str.contains("look for a date")).any()


def test_a_boat_with_nothing_in_it_but_one_part_has_a_calendar(fleet_of):
    calendar = calendar_of(fleet_of([{"item_class": "drain_plug", "installed_on": "2026-05-01"}]))
    assert isinstance(calendar.tasks, pd.DataFrame)
