"""The areas of physics against the shipped tables: every class is answered for, each of its ends by one of them."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence import INJURY, TABLE, barrier_needs
from riskmodel.consequence.areas import AREAS
from riskmodel.consequence.follow import BARRIER_STATES, SCENARIOS
from riskmodel.consequence.states import OF_THE_YEAR
from riskmodel.trade import load_trade

TRADE = load_trade()
NAMES = [area.name for area in AREAS]
FUELS = ("gasoline", "diesel")
# One boat of each kind and fuel, and what lies elsewhere or is open: between them every path is met.
BOATS = [
    {"vessel_id": f"{kind}/{fuel}/{kept}", "propulsion": kind, "fuel": fuel, "kept": kept, "length_m": 9}
    for kind in TRADE.propulsions
    for fuel in FUELS
    for kept in ("afloat", "mooring")
]
WATER = {"sinking_unattended", "sinking_under_way", "partial_flooding"}
FINITE = 1e-12


@pytest.fixture(scope="module")
def everything(followed):
    """Every class on every boat on which it occurs."""
    items = [
        {"item_class": name, "vessel_id": boat["vessel_id"]}
        for boat in BOATS
        for name, each in TRADE.classes.items()
        if boat["propulsion"] in each.propulsion
    ]
    return followed(items, BOATS)


@pytest.fixture(scope="module", params=AREAS, ids=NAMES)
def area(request):
    return request.param


def pairs(rows):
    return set(zip(rows["item_class"], rows["end_state"], strict=True))


# What an area is


def test_areas_have_names_of_their_own():
    assert len(set(NAMES)) == len(NAMES)
    assert TABLE not in NAMES


def test_an_area_answers_for_classes_of_the_trade(area):
    mine = area.classes(TRADE)
    assert mine
    assert mine <= set(TRADE.classes)


def test_no_area_answers_for_a_barrier(area):
    # Their own failure is a nuisance: what they are worth is what they stop.
    assert not area.classes(TRADE) & barrier_needs(TRADE)


def test_an_area_uses_columns_that_parts_on_boats_or_the_year_have(area, everything):
    assert area.uses[0] == "item_class"
    assert len(set(area.uses)) == len(area.uses)
    assert set(area.uses) <= set(everything.parts.columns) | set(OF_THE_YEAR)
    assert set(OF_THE_YEAR) <= set(everything.year.columns)


def test_an_area_reads_no_more_than_it_says(area, everything, trade, cube):
    # The answer from the columns of USES alone is the answer from all of them.
    parts = everything.parts[everything.parts["item_class"].isin(area.classes(TRADE))].iloc[::7]
    kinds = parts.drop(columns=list(OF_THE_YEAR), errors="ignore").merge(everything.year, on="vessel_id")
    some = area.follows(kinds[list(area.uses)], trade, cube)
    whole = area.follows(kinds, trade, cube)
    for name, follow in some.items():
        assert np.array_equal(follow.chance, whole[name].chance), name


def test_an_area_answers_kind_by_kind(area, everything, trade, cube):
    parts = everything.parts[everything.parts["item_class"].isin(area.classes(TRADE))].iloc[::23]
    kinds = parts.drop(columns=list(OF_THE_YEAR), errors="ignore").merge(everything.year, on="vessel_id")
    kinds = kinds[list(area.uses)]
    together = area.follows(kinds, trade, cube)
    for place in range(len(kinds)):
        alone = area.follows(kinds.iloc[[place]].reset_index(drop=True), trade, cube)
        for name, follow in alone.items():
            assert follow.chance.shape == (1, SCENARIOS, BARRIER_STATES)
            assert follow.loss_factor.shape == (1, SCENARIOS)
            assert follow.chance[0] == pytest.approx(together[name].chance[place], rel=1e-12, abs=FINITE)


def test_an_area_leads_to_end_states_of_the_trade(area, everything, trade, cube):
    parts = everything.parts[everything.parts["item_class"].isin(area.classes(TRADE))].iloc[:1]
    kinds = parts.drop(columns=list(OF_THE_YEAR), errors="ignore").merge(everything.year, on="vessel_id")
    ends = set(area.follows(kinds[list(area.uses)], trade, cube))
    assert ends <= set(TRADE.end_states)
    # Whoever hurts people says by which end state, and it can kill.
    assert (INJURY in ends) == bool(area.hurts_by)
    if area.hurts_by:
        assert area.hurts_by in ends
        assert TRADE.end_states[area.hurts_by].can_kill


# What the tables and the areas cover together


def test_every_class_of_an_area_comes_to_something_by_it(area, everything):
    mine = everything.rows[everything.rows["origin"] == area.name]
    assert set(mine["item_class"]) == area.classes(TRADE)


def test_every_part_on_every_boat_has_a_path(everything):
    assert set(everything.rows["item"]) == set(everything.parts.index)


def test_each_end_of_a_class_comes_from_one_origin(everything):
    origins = everything.rows.groupby(["item_class", "end_state"])["origin"].nunique()
    several = origins[origins > 1]
    # People are hurt by whatever hurts them.
    assert set(several.index.get_level_values("end_state")) <= {INJURY}


def test_the_shipped_table_holds_no_pair_that_an_area_works_out(everything):
    judged = {(name, path.end_state) for name, each in TRADE.classes.items() for path in each.paths}
    worked_out = pairs(everything.rows[everything.rows["origin"] != TABLE])
    assert not judged & worked_out
    assert judged == pairs(everything.rows[everything.rows["origin"] == TABLE])


def test_people_are_hurt_only_by_what_is_there_and_never_more_often(everything):
    hurt = everything.rows[everything.rows["end_state"] == INJURY]
    place = everything.rows.reset_index().set_index(["item", "end_state"])["index"]
    for row, item, by in zip(hurt.index, hurt["item"], hurt["guarded"], strict=True):
        assert (everything.chance[row] <= everything.chance[place[item, by]] + FINITE).all()


def test_every_class_that_can_kill_can_hurt(everything):
    deadly = everything.rows[everything.rows["end_state"].map(lambda name: TRADE.end_states[name].can_kill)]
    hurt = everything.rows[everything.rows["end_state"] == INJURY]
    # A cleat or stanchion that gives way hurts whoever held on to it, and comes to no end that kills of itself.
    assert set(hurt["item_class"]) == set(deadly["item_class"]) | {"deck_bedding"}


# Facts of the trade, on an ordinary boat with no barrier working


@pytest.fixture(scope="module")
def means(everything):
    """The rows with their mean chance, and that chance counted by the size of the loss."""
    none = everything.chance[:, :, 0]
    return everything.rows.assign(mean=none.mean(axis=1), sized=(none * everything.loss_factor).mean(axis=1))


def test_a_barrier_part_leads_to_nothing_but_a_nuisance(means):
    needed = means[means["item_class"].isin(barrier_needs(TRADE))]
    assert set(needed["end_state"]) == {"nuisance"}


def test_an_exhaust_bellows_does_not_sink_the_boat(means):
    ends = set(means.loc[means["item_class"] == "bellows_exhaust", "end_state"])
    assert "carbon_monoxide" in ends
    assert not ends & WATER


def test_the_drive_bellows_sinks_more_often_than_the_shift_bellows(means):
    berth = means[means["end_state"] == "sinking_unattended"].set_index(["vessel_id", "item_class"])["mean"]
    drive, shift = (berth.xs(name, level="item_class") for name in ("bellows_drive", "bellows_shift"))
    assert len(drive)
    assert (drive > shift).all()
    assert (shift > 0).all()


def test_most_failures_of_most_classes_are_no_disaster(means):
    deadly = means[means["end_state"].map(lambda name: TRADE.end_states[name].can_kill)]
    assert deadly.groupby("item")["mean"].sum().max() <= 0.05


def test_what_a_part_may_come_to_never_adds_up_to_more_than_certain(means):
    # Damage that grows comes beside a wet bilge, so it counts by its size; who is hurt was in what hurt him.
    own = means[means["end_state"] != INJURY]
    assert own.groupby("item")["sized"].sum().max() <= 1.0


@pytest.mark.parametrize("name", ["fuel_fill_hose", "fuel_vent_hose", "fuel_feed_hose"])
def test_diesel_burns_at_least_twenty_times_less(means, name):
    # The judged table had twenty to fifty times. Worked out, diesel gives no vapour that burns below its flash point,
    # so a spray on a hot part is all that is left of it: more than fifty times on most boats. No upper bound is known.
    fire = means[(means["item_class"] == name) & (means["end_state"] == "fire_explosion")]
    kinds = fire.assign(
        kind=fire["vessel_id"].str.replace("/gasoline|/diesel", "", regex=True),
        fuel=fire["vessel_id"].str.split("/").str[1],
    )
    by_fuel: pd.DataFrame = kinds.pivot_table(index="kind", columns="fuel", values="mean", aggfunc="first")
    assert (by_fuel["gasoline"] >= 20 * by_fuel["diesel"]).all()


def test_every_opening_sinks_some_boat_at_its_berth_and_spoils_one(means):
    flooding = next(area for area in AREAS if area.name == "flooding")
    for end_state in ("sinking_unattended", "partial_flooding"):
        worked_out = means[(means["end_state"] == end_state) & (means["origin"] == flooding.name)]
        assert set(worked_out["item_class"]) == flooding.classes(TRADE)
