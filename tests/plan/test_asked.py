"""What may not wait for the first trip: what may sink a boat that lies afloat all winter is seen to today."""

import datetime
from dataclasses import replace

import pytest

from riskmodel.fleet import load_fleet
from riskmodel.plan.season.asked import closest_look, on_a_path, suspects
from riskmodel.plan.season.calendar import (
    BEFORE_USE,
    FIRST_TRIP,
    HAUL_OUT,
    IN_WATER,
    group_label,
    season_calendar,
)
from riskmodel.plan.season.dates import season_dates
from riskmodel.plan.season.every_trip import SNIFF, every_trip
from riskmodel.plan.season.season import season_of
from riskmodel.risk.looking import LOOKING, mean_detection
from riskmodel.trade import load_trade

pytestmark = pytest.mark.thorough

DAY = datetime.date
TRADE = load_trade()
WINTER = "as_of = 2026-11-02\n"
SEASON = {"season_start": "04-15", "season_end": "10-15", "kept": "mooring", "propulsion": "inboard_shaft"}
ITEMS = [
    {"item_class": "transducer_fitting", "installed_on": "2014"},
    {"item_class": "bilge_pump", "installed_on": "2020"},
    {"item_class": "deck_bedding", "installed_on": "2021"},
]
SUSPECT = {"item_id": "I0", "date": "2026-10-13", "event": "inspected", "finding": "suspect"}


@pytest.fixture(scope="module")
def lapwing(demo_fleet):
    result = season_of(demo_fleet, "L10").result
    return result, season_calendar(result)


@pytest.fixture(scope="module")
def winter(written):
    """The calendar of a boat in November, found as these records tell, with these periods."""

    def made(records=(), periods="", boat=SEASON, items=ITEMS):
        folder = written(items, list(records), [boat], WINTER)
        if periods:
            (folder / "periods.csv").write_text(f"vessel_id,from,to,state\n{periods}")
        result = season_of(load_fleet(folder), "B1").result
        return result, season_calendar(result)

    return made


def first_of(calendar, item):
    return calendar.tasks[calendar.tasks["item_id"] == item].sort_values("due").iloc[0]


def test_nothing_that_may_sink_a_boat_afloat_and_pays_waits_for_april(lapwing):
    result, calendar = lapwing
    frame = result.frame
    asked = frame[
        frame["task_does"].isin(LOOKING)
        & ((frame["group"] == "path that can kill") | (frame["loss_averted"] > frame["task_cost"]))
    ]
    asked = [row.item_id for row in asked.itertuples() if on_a_path(row, result)]
    assert len(asked) > 4
    for item in asked:
        assert first_of(calendar, item)["due"] == calendar.dates.today


def test_a_fitting_found_suspect_is_looked_at_today_and_the_reason_is_said(lapwing):
    _, calendar = lapwing
    fitting = first_of(calendar, "L10-transducer-fitting-1")
    assert (fitting["due"], fitting["group"]) == (DAY(2026, 11, 2), BEFORE_USE)
    assert fitting["why"].startswith("found suspect 2026-10-13, look closely, opened where it opens")
    rows = calendar.tasks[calendar.tasks["item_id"] == "L10-transducer-fitting-1"]
    assert rows["why"].str.contains("found suspect").all()


def test_what_she_hangs_on_is_looked_at_today(lapwing):
    _, calendar = lapwing
    shackles = first_of(calendar, "L10-rode-shackle-snubber-1")
    assert (shackles["due"], shackles["group"]) == (DAY(2026, 11, 2), BEFORE_USE)
    assert shackles["why"].startswith("can kill")


def test_every_part_found_suspect_says_so_in_every_task(demo_fleet):
    for vessel in ("L05", "L10", "L16", "L23"):
        result = season_of(demo_fleet, vessel).result
        tasks = season_calendar(result).tasks
        rows = tasks[tasks["item_id"].isin(suspects(result)) & ~tasks["why"].str.contains("once renewed")]
        assert rows["why"].str.contains("found suspect").all()


def test_what_is_ashore_waits_until_it_is_launched(winter):
    afloat, ashore = winter([SUSPECT]), winter([SUSPECT], "B1,10-16,03-31,ashore\n")
    assert first_of(afloat[1], "I0")["due"] == DAY(2026, 11, 2)
    # Launched before the first trip: seen to by then.
    assert ashore[1].dates.soon == DAY(2027, 4, 1)
    assert first_of(ashore[1], "I0")["due"] == DAY(2027, 4, 1)
    early = winter([SUSPECT], "B1,10-16,12-31,ashore\nB1,01-01,02-28,on_trailer\n")
    assert early[1].dates.soon == DAY(2027, 3, 1)
    late = winter([SUSPECT], "B1,10-16,04-30,ashore\n")
    assert late[1].dates.soon == late[1].dates.first_trip
    assert first_of(late[1], "I0")["group"] == FIRST_TRIP


def test_what_is_sound_and_pays_nothing_keeps_its_day(winter):
    result, calendar = winter([SUSPECT])
    bedding = first_of(calendar, "I2")
    assert bedding["due"] >= calendar.dates.first_trip
    assert set(suspects(result)) == {"I0"}


def test_a_sound_look_since_lifts_the_suspicion(winter):
    result, calendar = winter([SUSPECT, SUSPECT | {"date": "2026-10-30", "finding": "sound"}])
    assert suspects(result) == {}
    assert not calendar.tasks["why"].str.contains("suspect").any()


def test_a_part_whose_own_chance_of_sinking_is_over_the_limit_is_seen_to_today(winter):
    result, _ = winter()
    tight = replace(result.fleet.settings, sinking_limit=1e-6)
    fleet = replace(result.fleet, settings=tight)
    calendar = season_calendar(season_of(fleet, "B1").result)
    fitting = first_of(calendar, "I0")
    assert fitting["due"] == calendar.dates.today
    assert "can sink the boat" in fitting["why"]


def test_a_boat_in_use_has_its_next_trip_today(winter, fleet_of):
    fleet = fleet_of(ITEMS, [SUSPECT | {"date": "2026-05-13"}], [SEASON])
    calendar = season_calendar(season_of(fleet, "B1").result)
    assert calendar.dates.soon == calendar.dates.first_trip == calendar.dates.today
    assert (first_of(calendar, "I0")["group"]) == FIRST_TRIP


@pytest.mark.parametrize("name", sorted(TRADE.classes))
def test_the_closest_look_needs_no_lift_where_one_does_without(name, lapwing):
    tasks = TRADE.classes[name].tasks
    looks = [each for each in tasks if each.does in LOOKING]
    chosen = closest_look(tasks, lapwing[1].dates)
    assert chosen.does in LOOKING
    if any(not each.out_of_water for each in looks):
        assert not chosen.out_of_water
    alike = [each for each in looks if each.out_of_water == chosen.out_of_water]
    assert mean_detection(chosen) == max(map(mean_detection, alike))


def test_a_boat_that_lives_ashore_is_never_in_the_water_between_trips(demo_fleet, lapwing):
    dates = season_dates(season_of(demo_fleet, "L16").result)
    assert group_label(IN_WATER, dates) == "between trips"
    assert group_label(HAUL_OUT, dates) == "ashore"
    assert group_label(IN_WATER, lapwing[1].dates) == IN_WATER
    assert dates.soon == dates.first_trip


def test_no_boat_is_told_to_run_a_blower_that_it_does_not_list(demo_fleet):
    teal = season_of(demo_fleet, "L16").result
    assert "engine_blower" not in set(teal.fleet.items["item_class"])
    said = every_trip(teal)
    assert said[0] == SNIFF
    assert not any("blower" in line.lower() for line in said)
