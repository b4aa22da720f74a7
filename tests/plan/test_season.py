"""A boat's season: months that add up to the whole, in the right places, and a typical boat beside it."""

import datetime
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError, TableError
from riskmodel.fleet import load_fleet
from riskmodel.plan.season.bands import band_of, boat_draws
from riskmodel.plan.season.months import month_ends
from riskmodel.plan.season.season import ANY_SINKING, own_season, refuse_unknown, season_of
from riskmodel.plan.season.typical import CARE, learn_with_typical, typical_id, with_typical_boat
from riskmodel.risk import Horizon, assess, given_horizon, months_ahead
from riskmodel.risk.assess import assess_learned
from riskmodel.risk.learned import learn, only_boats

pytestmark = pytest.mark.thorough

DAY = datetime.date
STATES = ("sinking_unattended", "partial_flooding", "machinery_damage", "fire_explosion")


def chances(season):
    return season.months.drop(columns=["start", "end"])


def ahead(fleet, months):
    return months_ahead(fleet.as_of, months)


@pytest.fixture(scope="module")
def dunlin(demo_fleet):
    return season_of(demo_fleet, "L01")


@pytest.fixture(scope="module")
def pair(fleet_of, two_boats):
    return fleet_of(**two_boats)


@pytest.mark.parametrize("until", [(2027, 5, 31), (2026, 6, 2), (2026, 7, 1), (2030, 1, 1)])
def test_months_follow_one_another_from_the_day_to_the_end(until):
    horizon = given_horizon(DAY(2026, 6, 1), DAY(*until))
    ends = month_ends(horizon)
    assert ends[-1] == horizon.until
    assert all(end.day == 1 for end in ends[:-1])
    assert sorted(set(ends)) == list(ends)
    starts = [horizon.as_of, *ends[:-1]]
    assert (
        sum((end - start).days for start, end in zip(starts, ends, strict=True))
        == (horizon.until - horizon.as_of).days
    )


def test_no_month_is_negative_and_they_add_up_to_the_seasons_total(dunlin):
    months = chances(dunlin)
    assert (months >= 0).all().all()
    whole = dunlin.totals.set_index("end_state")["chance"]
    for name in months:
        assert months[name].sum() == pytest.approx(whole[name], rel=1e-9, abs=1e-15)


def test_the_total_is_that_of_parts_and_background_in_the_ranking(dunlin, demo_fleet):
    learned = only_boats(learn(demo_fleet, demo_fleet.as_of), frozenset({"L01"}))
    result = assess_learned(learned, dunlin.horizon)
    whole = dunlin.totals.set_index("end_state")["chance"]
    for name in result.chances:
        background = result.background[name].sum() if name in result.background else 0.0
        assert whole[name] == pytest.approx(result.chances[name].sum() + background, rel=1e-9)


def test_the_typical_boat_beside_it_changes_nothing_for_the_boat(demo_fleet, dunlin):
    result = assess(demo_fleet, until=dunlin.horizon)
    mine = result.chances.loc[dunlin.result.chances.index]
    # Unknown ages are read in blocks that depend on which other parts of the class there are.
    pd.testing.assert_frame_equal(mine[dunlin.result.chances.columns], dunlin.result.chances, rtol=2e-3)


def test_months_are_the_growth_of_what_is_reckoned_to_each_months_end(pair):
    """The chance by each month's end, worked out anew for that horizon, grows as the months say."""
    season = season_of(pair, "B2", ahead(pair, 12))
    learned = only_boats(learn(pair, pair.as_of), frozenset({"B2"}))
    for end in (3, 6, 9):
        to_end = assess_learned(learned, Horizon(pair.as_of, season.months["end"][end - 1], ""))
        for name in ("sinking_unattended", "partial_flooding", "loss_of_holding"):
            reckoned = to_end.chances[name].sum()
            reckoned += to_end.background[name].sum() if name in to_end.background else 0.0
            assert season.months[name][:end].sum() == pytest.approx(reckoned, rel=0.12)


def test_the_band_is_about_the_chance_and_the_draws_have_its_mean(dunlin):
    totals = dunlin.totals
    assert (totals["low"] <= totals["chance"]).all()
    assert (totals["chance"] <= totals["high"]).all()
    assert (totals["typical_low"] <= totals["typical_high"]).all()
    draws = boat_draws(dunlin.result, "fire_explosion")
    assert draws.mean() == pytest.approx(dunlin.result.chances["fire_explosion"].sum(), rel=1e-9)
    assert band_of(draws) == tuple(np.quantile(draws, [0.05, 0.95]))


def test_an_end_state_without_a_path_has_no_chance(dunlin):
    assert boat_draws(dunlin.result, "nothing_such").tolist() == [0.0] * 160


def test_both_sinkings_together_are_no_less_than_either(dunlin):
    whole = dunlin.totals.set_index("end_state")["chance"]
    assert whole[ANY_SINKING] == pytest.approx(
        whole["sinking_unattended"] + whole["sinking_under_way"], rel=1e-6
    )


def test_a_boat_ashore_in_winter_does_not_sink_then(written):
    items = [{"item_class": "bellows_drive", "installed_on": "2018"}, {"item_class": "bilge_pump"}]
    folder = written(
        items, boats=[{"season_start": "04-15", "season_end": "10-15"}], settings="as_of = 2026-11-02\n"
    )
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,10-16,04-14,ashore\n")
    season = season_of(load_fleet(folder), "B1")
    months = season.months.set_index("start")["sinking_unattended"]
    winter = [day for day in months.index if day < DAY(2027, 4, 1)]
    assert months[winter].max() < 0.02 * months.drop(winter).min()


def test_nobody_is_burned_or_gassed_ashore_and_what_let_go_there_waits_for_the_first_start(written):
    items = [
        {"item_class": "fuel_feed_hose", "installed_on": "2010"},
        {"item_class": "wet_exhaust_hose", "installed_on": "2010"},
        {"item_class": "rode_rope", "installed_on": "2010"},
    ]
    folder = written(
        items, boats=[{"season_start": "04-15", "season_end": "10-15"}], settings="as_of = 2026-11-02\n"
    )
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,10-16,04-14,ashore\n")
    season = season_of(load_fleet(folder), "B1")
    months = season.months.set_index("start")[["fire_explosion", "carbon_monoxide", "loss_of_holding"]]
    winter = months.index < DAY(2027, 4, 1)
    assert (months[winter] == 0).all().all()
    # Half a year's failures wait for half of April.
    assert (months.loc[DAY(2027, 4, 1)] > 2 * months.loc[DAY(2027, 6, 1)]).all()
    assert months.sum().tolist() == pytest.approx(season.result.chances[months.columns].sum().tolist())


def test_nothing_corrodes_or_overheats_ashore_and_what_failed_there_waits_for_the_launching(written):
    items = [
        {"item_class": name, "installed_on": "2021"}
        for name in (
            "sacrificial_anode",
            "bellows_drive",
            "raw_water_impeller",
            "raw_water_hose",
            "deck_bedding",
        )
    ]
    folder = written(
        items,
        boats=[{"season_start": "04-15", "season_end": "10-15", "core": "balsa"}],
        settings="as_of = 2026-11-02\n",
    )
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,10-16,04-14,ashore\n")
    season = season_of(load_fleet(folder), "B1")
    months = season.months.set_index("start")
    winter = months.index < DAY(2027, 4, 1)
    assert (months.loc[winter, "machinery_damage"] == 0).all()
    assert (months.loc[winter, "structural_damage"] > 0).all()
    assert months.loc[DAY(2027, 4, 1), "machinery_damage"] > months.loc[DAY(2027, 6, 1), "machinery_damage"]
    whole = season.totals.set_index("end_state")["chance"]
    assert months["machinery_damage"].sum() == pytest.approx(whole["machinery_damage"], rel=1e-9)
    (folder / "periods.csv").write_text("vessel_id,from,to,state\n")
    afloat = season_of(load_fleet(folder), "B1").totals.set_index("end_state")["chance"]
    assert whole["machinery_damage"] < afloat["machinery_damage"]
    assert whole["structural_damage"] == pytest.approx(afloat["structural_damage"], rel=1e-9)


def test_what_has_let_go_already_does_its_harm_when_the_boat_is_launched(written):
    items = [{"item_class": "raw_water_hose", "installed_on": "2018"}]
    found = [{"item_id": "I0", "date": "2026-10-20", "event": "inspected", "finding": "failed"}]
    folder = written(items, found, [{"propulsion": "inboard_shaft"}], "as_of = 2026-11-02\n")
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,10-16,04-14,ashore\n")
    fleet = load_fleet(folder)
    season = season_of(fleet, "B1", ahead(fleet, 11))
    sunk = season.result.chances["sinking_unattended"].sum()
    months = season.months.set_index("start")["sinking_unattended"]
    assert months[DAY(2027, 4, 1) : DAY(2027, 5, 1)].sum() > 0.9 * sunk
    assert months[months.index < DAY(2027, 4, 1)].sum() < 0.02 * sunk


def test_a_part_found_needing_work_brings_its_harm_forward(fleet_of):
    items = [{"item_class": "bellows_drive", "installed_on": "2020-05-02"}, {"item_class": "bilge_pump"}]
    looked = [{"item_id": "I0", "date": "2026-05-20", "event": "inspected", "finding": "failing"}]
    early = [
        chances(season_of(fleet, "B1", ahead(fleet, 12)))["sinking_unattended"]
        for fleet in (fleet_of(items, looked), fleet_of(items))
    ]
    share = [months[:6].sum() / months.sum() for months in early]
    assert share[0] > share[1]


@pytest.mark.parametrize(
    ("first", "last", "until"),
    [("10-01", "04-30", (2027, 4, 30)), ("04-15", "10-15", (2026, 10, 15)), ("", "", (2027, 6, 1))],
    ids=["south", "north", "tropics"],
)
def test_the_season_is_the_boats_own_wherever_it_lies(fleet_of, first, last, until):
    """Across the year's end in the south; twelve months where there is no lay-up."""
    other = {"vessel_id": "B2", "season_start": "03-01", "season_end": "12-20"}
    boats = [
        {"season_start": first, "season_end": last, "climate": "tropical" if not first else "temperate"},
        other,
    ]
    season = season_of(fleet_of([{"item_class": "bilge_pump"}], boats=boats), "B1")
    assert season.horizon.until == DAY(*until)
    assert len(season.months) == len(month_ends(season.horizon))


def test_a_trailer_boat_has_a_season_too(demo_fleet):
    season = season_of(demo_fleet, "L16")
    whole = season.totals.set_index("end_state")["chance"]
    afloat = season_of(demo_fleet, "L18").totals.set_index("end_state")["chance"]
    assert 0 < whole["sinking_unattended"] < afloat["sinking_unattended"]
    assert chances(season).sum().sum() > 0


def test_a_boat_without_a_list_of_parts_has_the_typical_outfits_season(demo_fleet):
    season = season_of(demo_fleet, "L25")
    assert season.result.frame["assumed"].all()
    whole = season.totals.set_index("end_state")
    # Only the care differs: this one is seen every fourteen days, a typical boat weekly.
    assert whole.loc["sinking_unattended", "chance"] > whole.loc["sinking_unattended", "typical"]
    assert whole.loc["machinery_damage", "chance"] == pytest.approx(
        whole.loc["machinery_damage", "typical"], rel=0.1
    )


def test_the_typical_boat_is_like_the_other_but_for_its_care(demo_fleet):
    fleet = with_typical_boat(demo_fleet, "L03")
    boats = fleet.vessels.set_index("vessel_id")
    mine, twin = boats.loc["L03"], boats.loc[typical_id("L03")]
    same = ["propulsion", "fuel", "built_year", "length_m", "value", "water", "kept", "season_start", "core"]
    assert mine[same].equals(twin[same])
    assert twin["checked_every_days"] == 7
    assert bool(twin["shore_power"])
    assert not fleet.items["vessel_id"].eq(typical_id("L03")).any()
    assert len(fleet.given["vessels"]) == len(fleet.vessels)
    assert (fleet.vessels.dtypes == demo_fleet.vessels.dtypes).all()
    assert set(CARE) <= set(boats.columns)


def test_the_typical_boat_stands_in_no_note(demo_fleet):
    assert learn_with_typical(demo_fleet, "L01").notes == learn(demo_fleet, demo_fleet.as_of).notes


def test_no_note_is_made_up_where_every_boat_lists_its_parts(pair):
    assert learn_with_typical(pair, "B1").notes == learn(pair, pair.as_of).notes


def test_an_unknown_boat_is_refused_with_the_nearest(demo_fleet):
    with pytest.raises(TableError, match="the nearest is L05, got l05"):
        season_of(demo_fleet, "l05")
    with pytest.raises(TableError, match="must be one of the fleet's boats"):
        refuse_unknown(replace(demo_fleet, vessels=demo_fleet.vessels[:0]), "L01")


def test_a_sold_boat_is_refused(demo_fleet):
    owned = set(learn(demo_fleet, demo_fleet.as_of).fleet.vessels["vessel_id"])
    (sold,) = set(demo_fleet.vessels["vessel_id"]) - owned
    with pytest.raises(TableError, match="this one was sold"):
        season_of(demo_fleet, sold)


def test_a_horizon_from_another_day_is_refused(demo_fleet):
    with pytest.raises(ParameterError, match="must start on the fleet's day"):
        season_of(demo_fleet, "L01", given_horizon(DAY(2026, 1, 1), DAY(2027, 1, 1)))


def test_the_same_fleet_gives_the_same_season(demo_fleet, dunlin):
    again = season_of(demo_fleet, "L01")
    pd.testing.assert_frame_equal(again.months, dunlin.months, check_exact=True)
    pd.testing.assert_frame_equal(again.totals, dunlin.totals, check_exact=True)


def test_settings_season_does_not_lengthen_a_boats_own(fleet_of):
    boats = [{"season_start": "05-01", "season_end": "09-30"}]
    fleet = fleet_of(
        [{"item_class": "bilge_pump"}], boats=boats, settings='season_start = "03-01"\nseason_end = "12-01"\n'
    )
    assert own_season(fleet).until == DAY(2026, 9, 30)
