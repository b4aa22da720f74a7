"""What may follow in a fleet: physics where there is one, the table elsewhere, over the year each boat has."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence import INJURY, TABLE, area_steps, item_following
from riskmodel.consequence.areas import AREAS
from riskmodel.consequence.follow import BARRIER_STATES, SCENARIOS
from riskmodel.consequence.quantities import MOST
from riskmodel.consequence.states import over_states
from riskmodel.trade import HarmPath

AFLOAT = {"state": "in_use", "share": 1.0, "visited_every_days": 7.0, "shore_power": True}
BERTH = "sinking_unattended"
# Boats that share kinds with one another and boats that do not.
BOATS = (
    {},
    {"vessel_id": "B2"},
    {"vessel_id": "B3", "kept": "mooring", "checked_every_days": 30, "shore_power": "no"},
    {"vessel_id": "B4", "propulsion": "sail_shaft", "fuel": "diesel", "length_m": 11, "core": "balsa"},
)
NAMES = ("bellows_drive", "fuel_feed_hose", "wet_exhaust_hose", "deck_bedding", "rode_chain", "bilge_pump")


@pytest.fixture(scope="module")
def mixed(followed):
    return followed(
        [{"item_class": name, "vessel_id": boat} for name in NAMES for boat in ("B1", "B2", "B3", "B4")],
        BOATS,
    )


@pytest.fixture(scope="module")
def bellows(followed):
    return followed([{"item_class": "bellows_drive"}])


def spent(*states, boat="B1"):
    """A boat's year of these states, each what it adds to a year afloat."""
    return pd.DataFrame([AFLOAT | {"vessel_id": boat} | state for state in states])


def over(following, year, trade):
    return item_following(following.parts, year, trade)


def chances(following, end_state):
    """(rows, S, states) of one end state."""
    return following.chance[(following.rows["end_state"] == end_state).to_numpy()]


def with_path(trade, item_class, **path):
    """The trade with one path more, an organisation's own."""
    usual = {"fuel": "any", "note": "", "source": "our book", "status": "judgement"}
    own = HarmPath(**usual | {"item_class": item_class} | path)
    each = trade.classes[item_class]
    return replace(trade, classes={**trade.classes, item_class: replace(each, paths=(*each.paths, own))})


def test_worked_out_together_or_alone_each_part_has_the_same_answer(mixed, trade):
    for item in mixed.parts.index:
        alone = item_following(mixed.parts.loc[[item]], mixed.year, trade)
        mine = (mixed.rows["item"] == item).to_numpy()
        pd.testing.assert_frame_equal(alone.rows, mixed.rows[mine].reset_index(drop=True))
        assert np.array_equal(alone.chance, mixed.chance[mine])
        assert np.array_equal(alone.loss_factor, mixed.loss_factor[mine])


def test_a_year_of_several_states_too_is_the_same_together_or_alone(mixed, trade):
    year = pd.concat(
        [
            spent({"share": 0.6}, {"share": 0.4, "state": "ashore"}, boat="B1"),
            spent({}, boat="B2"),
            spent({"share": 0.3, "state": "laid_up_afloat"}, {"share": 0.7}, boat="B3"),
            spent({"state": "on_trailer"}, boat="B4"),
        ],
        ignore_index=True,
    )
    whole = over(mixed, year, trade)
    for item in mixed.parts.index:
        alone = item_following(mixed.parts.loc[[item]], year, trade)
        assert alone.chance == pytest.approx(whole.chance[(whole.rows["item"] == item).to_numpy()], rel=1e-12)


def test_the_order_of_boats_in_the_year_changes_nothing(mixed, trade):
    turned = over(mixed, mixed.year.iloc[::-1].reset_index(drop=True), trade)
    pd.testing.assert_frame_equal(turned.rows, mixed.rows)
    assert np.array_equal(turned.chance, mixed.chance)


def test_like_boats_have_like_chances(mixed):
    # B1 and B2 differ by name only.
    of = [mixed.rows["vessel_id"].eq(name).to_numpy() for name in ("B1", "B2")]
    assert mixed.rows["end_state"][of[0]].tolist() == mixed.rows["end_state"][of[1]].tolist()
    assert np.array_equal(mixed.chance[of[0]], mixed.chance[of[1]])


def test_rows_stand_by_item_and_end_state(mixed):
    keys = list(zip(mixed.rows["item"], mixed.rows["end_state"], strict=True))
    assert keys == sorted(keys)
    assert mixed.rows.index.tolist() == list(range(len(mixed.rows)))


def test_a_row_says_whose_part_it_is(mixed):
    for column in ("vessel_id", "item_class"):
        assert (mixed.rows[column].to_numpy() == mixed.parts.loc[mixed.rows["item"], column].to_numpy()).all()


def test_arrays_have_a_row_for_each_row(mixed):
    assert mixed.chance.shape == (len(mixed.rows), SCENARIOS, BARRIER_STATES)
    assert mixed.loss_factor.shape == (len(mixed.rows), SCENARIOS)


def test_every_chance_is_one_and_none_is_certain(mixed):
    assert (mixed.chance >= 0).all()
    assert mixed.chance.max() <= MOST
    assert (mixed.loss_factor >= 0).all()


def test_the_range_is_of_the_chance_with_no_barrier_working(mixed):
    none = mixed.chance[:, :, 0]
    assert mixed.rows["low"].to_numpy() == pytest.approx(np.quantile(none, 0.05, axis=1))
    assert mixed.rows["high"].to_numpy() == pytest.approx(np.quantile(none, 0.95, axis=1))
    assert (mixed.rows["low"] <= mixed.rows["high"]).all()


def test_no_row_stands_for_what_cannot_follow(mixed, followed):
    assert (mixed.chance.max(axis=(1, 2)) > 0).all()
    electric = followed([{"item_class": "fuel_feed_hose"}], [{"fuel": "electric"}])
    assert not set(electric.rows["end_state"]) & {"fire_explosion", INJURY}


def test_an_injury_is_guarded_by_the_barriers_of_what_hurts(mixed):
    hurt = mixed.rows[mixed.rows["end_state"] == INJURY]
    by = {"flooding": "sinking_under_way", "fire": "fire_explosion", "carbon monoxide": "carbon_monoxide"}
    by |= {"holding": "loss_of_holding", "table": INJURY}
    assert set(hurt["origin"]) == set(by)
    for _, row in hurt.iterrows():
        assert row["guarded"] == by[row["origin"]]
    other = mixed.rows[mixed.rows["end_state"] != INJURY]
    assert (other["guarded"] == other["end_state"]).all()


def test_a_part_has_an_end_state_once_and_an_injury_once_by_each_thing_that_hurts(mixed):
    assert not mixed.rows.duplicated(["item", "end_state", "guarded"]).any()
    twice = mixed.rows[mixed.rows.duplicated(["item", "end_state"], keep=False)]
    assert set(twice["end_state"]) == {INJURY}


def test_a_row_has_the_chance_and_the_size_of_loss_of_its_area(mixed, trade, cube):
    for area in AREAS:
        place = np.flatnonzero((mixed.rows["origin"] == area.name).to_numpy())
        items = mixed.rows["item"].iloc[place].unique()
        kinds = over_states(mixed.parts.loc[items], mixed.year)[list(area.uses)]
        found = area.follows(kinds, trade, cube)
        for row in place:
            each, item = found[mixed.rows.loc[row, "end_state"]], mixed.rows.loc[row, "item"]
            kind = int(np.flatnonzero(items == item)[0])
            assert mixed.chance[row] == pytest.approx(each.chance[kind], rel=1e-12)
            assert mixed.loss_factor[row] == pytest.approx(each.loss_factor[kind], rel=1e-12)


# An organisation's own rows


@pytest.mark.parametrize(
    ("name", "end_state", "origin"),
    [
        ("bellows_drive", BERTH, "flooding"),
        ("fuel_feed_hose", "fire_explosion", "fire"),
        ("wet_exhaust_hose", "carbon_monoxide", "carbon monoxide"),
        ("deck_bedding", "structural_damage", "slow damage"),
        ("rode_chain", "loss_of_holding", "holding"),
    ],
)
def test_an_own_path_takes_the_place_of_the_physics(followed, trade, name, end_state, origin):
    shipped = followed([{"item_class": name}])
    own = with_path(trade, name, end_state=end_state, low=0.11, high=0.12)
    rows = item_following(shipped.parts, shipped.year, own).rows.set_index("end_state")
    assert shipped.rows.set_index("end_state").loc[end_state, "origin"] == origin
    assert rows.loc[end_state, "origin"] == TABLE
    assert rows.loc[[end_state], ["path_low", "path_high"]].to_numpy().tolist() == [[0.11, 0.12]]


def test_an_own_path_leaves_the_other_end_states_to_the_physics(bellows, trade):
    own = with_path(trade, "bellows_drive", end_state=BERTH, low=0.11, high=0.12)
    changed = over(bellows, bellows.year, own)
    assert changed.rows["end_state"].tolist() == bellows.rows["end_state"].tolist()
    for name in set(bellows.rows["end_state"]) - {BERTH}:
        assert np.array_equal(chances(changed, name), chances(bellows, name)), name


def test_an_own_path_of_one_class_leaves_other_classes_alone(mixed, trade):
    own = over(mixed, mixed.year, with_path(trade, "bellows_drive", end_state=BERTH, low=0.1, high=0.1))
    others = [(each.rows["item_class"] != "bellows_drive").to_numpy() for each in (own, mixed)]
    assert np.array_equal(own.chance[others[0]], mixed.chance[others[1]])


def test_an_own_path_for_gasoline_leaves_diesel_boats_their_fire(followed, trade):
    shipped = followed([{"item_class": "fuel_feed_hose"}], [{"fuel": "diesel"}])
    own = with_path(trade, "fuel_feed_hose", end_state="fire_explosion", fuel="gasoline", low=0.01, high=0.02)
    changed = over(shipped, shipped.year, own)
    assert np.array_equal(chances(changed, "fire_explosion"), chances(shipped, "fire_explosion"))


def test_people_are_hurt_no_more_often_than_an_own_path_lets_the_boat_burn(followed, trade):
    hose = followed([{"item_class": "fuel_feed_hose"}])
    own = with_path(trade, "fuel_feed_hose", end_state="fire_explosion", low=0.0001, high=0.0002)
    changed = over(hose, hose.year, own)
    assert (chances(changed, INJURY) <= chances(changed, "fire_explosion")).all()


# The year


def test_a_boat_half_the_year_ashore_has_about_half_the_chance_at_its_berth(bellows, trade):
    half = over(bellows, spent({"share": 0.5}, {"share": 0.5, "state": "ashore"}), trade)
    whole, part = (chances(each, BERTH)[0, :, 0] for each in (bellows, half))
    # A day at the dock before she is lifted is a day afloat, and the periods say so.
    assert part == pytest.approx(0.5 * whole)


def test_chances_are_those_of_each_state_weighed_by_its_share(bellows, trade):
    states = {"state": "on_trailer"}, {"visited_every_days": 30.0, "shore_power": False}, {}
    shares = 0.2, 0.5, 0.3
    alone = [over(bellows, spent(state), trade) for state in states]
    year = spent(*({**state, "share": share} for state, share in zip(states, shares, strict=True)))
    together = over(bellows, year, trade)
    by_hand = sum(share * chances(each, BERTH) for share, each in zip(shares, alone, strict=True))
    assert chances(together, BERTH) == pytest.approx(by_hand, rel=1e-12)


def test_a_boat_without_periods_has_one_state_for_the_whole_year(bellows, trade):
    assert bellows.year["share"].tolist() == [1.0]
    cut = over(bellows, spent({"share": 0.4}, {"share": 0.35}, {"share": 0.25}), trade)
    pd.testing.assert_frame_equal(
        cut.rows.drop(columns=["low", "high"]), bellows.rows.drop(columns=["low", "high"])
    )
    assert cut.chance == pytest.approx(bellows.chance, rel=1e-12)
    assert cut.loss_factor == pytest.approx(bellows.loss_factor, rel=1e-12)


def test_a_boat_laid_up_ashore_all_year_does_not_sink(bellows, trade):
    ashore = over(bellows, spent({"state": "ashore"}), trade)
    assert BERTH not in set(ashore.rows["end_state"])


def test_a_boat_that_lives_ashore_is_in_the_water_now_and_then(followed, trade):
    used = followed([{"item_class": "bellows_drive"}], [{"kept": "ashore"}])
    assert used.year["state"].tolist() == ["ashore"]
    assert chances(used, BERTH).mean() > 0
    assert {"machinery_damage", "sinking_under_way"} <= set(used.rows["end_state"])


def test_nobody_is_hurt_by_sinking_in_a_boat_laid_up(bellows, trade):
    laid_up = over(bellows, spent({"state": "laid_up_afloat"}), trade)
    assert not set(laid_up.rows["end_state"]) & {"sinking_under_way", INJURY}


def test_what_asks_nothing_of_the_year_goes_by_the_boat_whatever_its_year(followed, trade):
    hose = followed([{"item_class": "fuel_feed_hose"}])
    split = over(hose, spent({"share": 0.5}, {"share": 0.5, "state": "ashore"}), trade)
    assert np.array_equal(chances(split, "fire_explosion"), chances(hose, "fire_explosion"))


# What is told


def test_steps_are_those_of_the_state_of_most_of_the_year(bellows, trade):
    mostly = over(bellows, spent({"share": 0.9, "state": "on_trailer"}, {"share": 0.1}), trade)
    said = {what for what, _, _ in area_steps("flooding", mostly, 0, trade)}
    assert "Lies afloat unattended" in said
    # In a yard nothing comes to pass: the steps are those of the time afloat, however short.
    hardly = over(bellows, spent({"share": 0.9, "state": "ashore"}, {"share": 0.1}), trade)
    assert area_steps("flooding", hardly, 0, trade) == area_steps("flooding", bellows, 0, trade)


def test_every_row_of_physics_can_be_told(mixed, trade):
    for item, origin in mixed.rows[["item", "origin"]].drop_duplicates().itertuples(index=False):
        if origin != TABLE:
            assert area_steps(origin, mixed, item, trade), (item, origin)


def test_a_fleet_without_parts_has_nothing_to_follow(bellows, trade):
    nothing = item_following(bellows.parts.iloc[:0], bellows.year, trade)
    assert nothing.rows.empty
    assert nothing.chance.shape == (0, SCENARIOS, BARRIER_STATES)


def test_a_boat_that_nobody_uses_all_year_runs_no_engine_and_sails_nowhere(followed, trade):
    parts = [
        {"item_class": name}
        for name in ("raw_water_hose", "fuel_feed_hose", "wet_exhaust_hose", "bellows_drive")
    ]
    used = followed(parts)
    idle = over(used, used.year.assign(state="ashore"), trade)
    gone = {"fire_explosion", "carbon_monoxide", "sinking_under_way", INJURY}
    assert gone & set(used.rows["end_state"])
    assert not gone & set(idle.rows["end_state"])
    hose = idle.rows[idle.rows["item"] == 0]
    assert "machinery_damage" not in set(hose["end_state"])
    # Water behind a torn bellows rusts whether the boat is used or not, as long as she lies in it.
    assert "machinery_damage" not in set(idle.rows[idle.rows["item"] == 3]["end_state"])
    afloat = over(used, used.year.assign(state="laid_up_afloat"), trade)
    assert "machinery_damage" in set(afloat.rows[afloat.rows["item"] == 3]["end_state"])


def test_a_judged_path_by_the_sea_asks_whether_the_boat_lies_in_it(followed, trade):
    anode = followed([{"item_class": "sacrificial_anode"}])
    half = pd.concat([anode.year.assign(share=0.5), anode.year.assign(share=0.5, state="ashore")])
    ashore = over(anode, half, trade)
    assert chances(ashore, BERTH) == pytest.approx(0.5 * chances(anode, BERTH))
