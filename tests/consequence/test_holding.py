"""Holding: wind on a boat, strength of her gear, the way to the shore, and who stops her."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.follow import BARRIER_STATES, SCENARIOS, scenarios
from riskmodel.consequence.holding import USES, holding_classes, holding_follows, holding_steps
from riskmodel.consequence.holding.drift import (
    WINDS,
    Crew,
    Shore,
    chance_lost,
    minutes_to_shore,
    share_of_nights,
)
from riskmodel.consequence.holding.follows import gear_strength, nights_in_danger
from riskmodel.consequence.holding.gear import (
    AIR_DENSITY,
    chain_strength,
    chain_strength_left,
    frontal_area,
    rope_strength,
    rope_strength_left,
    share_parting,
    windage_load,
)
from riskmodel.trade import load_trade

TRADE = load_trade()
CUBE = scenarios()
BLANK = math.nan
GEAR = ("rode_rope", "rode_chain", "rode_shackle_snubber")
YACHT = {
    **{"propulsion": "sail_shaft", "kept": "afloat", "length_m": 10.0},
    **{"chain_mm": BLANK, "rope_mm": BLANK, "people_aboard": BLANK},
}
WIND = st.floats(0.1, 40.0)
SHARE = st.floats(0.01, 0.99)


def kinds(*rows):
    return pd.DataFrame([YACHT | row for row in rows], columns=list(USES))


def adrift(frame, trade=TRADE):
    return holding_follows(frame, trade, CUBE)["loss_of_holding"].chance[..., 0]


def hurt(frame):
    return holding_follows(frame, TRADE, CUBE)["injury"].chance[..., 0]


def shore(**other):
    usual = {"lee": 0.3, "distance_m": 200.0, "wind_share": 0.05, "slowest": 0.26, "fastest": 1.03}
    return Shore(**{name: np.array(value) for name, value in (usual | other).items()})


def crew(**other):
    usual = {
        "absent": 0.1,
        "asleep": 0.4,
        "awake_minutes": 3.0,
        "asleep_minutes": 15.0,
        "neither_works": 0.03,
    }
    return Crew(**{name: np.array(value) for name, value in (usual | other).items()})


def test_wind_load_is_half_density_drag_area_and_speed_squared():
    load = windage_load(np.array(10.0), np.array(8.0), np.array(1.1))
    assert load == pytest.approx(0.5 * AIR_DENSITY * 1.1 * 8.0 * 100.0)


@given(WIND, st.floats(0.1, 50.0), st.floats(0.2, 2.0))
def test_twice_the_wind_is_four_times_the_load(wind, area, drag):
    single, double = windage_load(np.array([wind, 2 * wind]), np.array(area), np.array(drag))
    assert double == pytest.approx(4 * single)


@given(st.floats(3.0, 30.0), st.floats(0.5, 3.0), WIND)
def test_load_scales_as_a_force_whatever_the_size_of_the_boat(length, factor, wind):
    # A boat larger by a factor has an area larger by its square, and so has the load.
    small, large = (
        windage_load(np.array(wind), frontal_area(np.array(each), np.array(0.08)), np.array(1.0))
        for each in (length, factor * length)
    )
    assert large == pytest.approx(factor**2 * small)


def test_strength_goes_with_the_square_of_thickness():
    chain = chain_strength(np.array([6.0, 12.0]), np.array(300.0))
    rope = rope_strength(np.array([8.0, 16.0]), np.array(260.0))
    assert chain[1] / chain[0] == pytest.approx(4.0)
    assert rope[1] / rope[0] == pytest.approx(4.0)


def test_a_link_has_two_sides():
    assert chain_strength(np.array(10.0), np.array(300.0)) == pytest.approx(
        2 * rope_strength(np.array(10.0), np.array(300.0))
    )


def test_a_tenth_of_thickness_worn_away_takes_a_fifth_of_the_strength():
    assert chain_strength_left(np.array(0.1)) == pytest.approx(0.81)


def test_a_wet_rope_with_a_knot_has_less_than_half_of_its_strength():
    assert rope_strength_left(np.array(0.125), np.array(0.45)) == pytest.approx(0.48125)
    assert rope_strength_left(np.array(0.0), np.array(0.0)) == 1.0


def test_a_load_below_the_weakest_part_breaks_none_and_one_above_the_strongest_breaks_all():
    load = np.array([0.0, 300.0, 1095.445, 4000.0, 1e6])
    found = share_parting(load, np.array(1e4), np.array(0.03), np.array(0.4))
    assert found == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0], abs=1e-6)


@given(st.tuples(WIND, WIND), st.tuples(st.floats(1e3, 1e5), st.floats(1e3, 1e5)))
def test_more_load_and_less_strength_never_break_fewer(loads, strengths):
    (light, heavy), (weak, strong) = sorted(loads), sorted(strengths)
    ends = np.array(0.03), np.array(0.4)
    small = share_parting(np.array(100 * light), np.array(strong), *ends)
    assert small <= share_parting(np.array(100 * heavy), np.array(strong), *ends)
    assert small <= share_parting(np.array(100 * light), np.array(weak), *ends)


def test_the_nights_of_all_winds_are_all_nights_and_have_the_mean_they_should():
    share = share_of_nights(np.array([4.0, 6.0, 9.0]))
    assert share.shape == (3, len(WINDS))
    assert share.sum(axis=1) == pytest.approx(1.0)
    assert share @ WINDS == pytest.approx([4.0, 6.0, 9.0], rel=0.01)


def test_a_night_of_twice_the_mean_wind_is_rare():
    # Rayleigh: P(over twice the mean) = exp(-pi) = 0.043.
    over = share_of_nights(np.array(6.0))[WINDS > 12].sum()
    assert over == pytest.approx(math.exp(-math.pi), rel=1e-9)


@given(st.tuples(st.floats(2.0, 12.0), st.floats(2.0, 12.0)), st.integers(0, len(WINDS) - 1))
def test_a_windier_place_never_has_fewer_nights_over_a_wind(means, place):
    calm, windy = (share_of_nights(np.array(each))[place:].sum() for each in sorted(means))
    assert calm <= windy + 1e-12


def test_she_drifts_with_a_share_of_the_wind_within_its_bounds():
    minutes = minutes_to_shore(np.array([1.0, 10.0, 40.0]), shore())
    assert minutes == pytest.approx([200 / 0.26 / 60, 200 / 0.5 / 60, 200 / 1.03 / 60])


@given(st.tuples(st.floats(0, 500), st.floats(0, 500)))
def test_less_time_never_lowers_the_chance_of_losing_her(both):
    short, long = sorted(both)
    assert chance_lost(np.array(long), shore(), crew()) <= chance_lost(np.array(short), shore(), crew())


@given(SHARE, SHARE, SHARE, st.floats(0.1, 60.0))
def test_a_worse_crew_and_a_nearer_shore_never_lower_it(absent, asleep, neither, minutes):
    at = np.array(minutes)
    usual = chance_lost(at, shore(), crew(absent=absent, asleep=asleep, neither_works=neither))
    for worse in (
        crew(absent=min(1.0, 1.3 * absent), asleep=asleep, neither_works=neither),
        crew(absent=absent, asleep=min(1.0, 1.3 * asleep), neither_works=neither),
        crew(absent=absent, asleep=asleep, neither_works=min(1.0, 1.3 * neither)),
    ):
        assert chance_lost(at, shore(), worse) >= usual - 1e-12
    assert chance_lost(at, shore(lee=0.6), crew(absent=absent, asleep=asleep, neither_works=neither)) >= usual


def test_nobody_aboard_stops_nothing_and_a_shore_far_off_is_reached_by_nobody_awake():
    assert chance_lost(np.array(1e6), shore(), crew(absent=1.0)) == pytest.approx(0.3)
    assert chance_lost(np.array(1e6), shore(), crew(absent=0.0, neither_works=0.0)) == pytest.approx(0.0)
    assert chance_lost(np.array(0.0), shore(), crew()) == pytest.approx(0.3)


def test_answers_have_the_shape_of_a_follow_and_no_barrier_changes_them():
    found = holding_follows(kinds(*({"item_class": name} for name in GEAR)), TRADE, CUBE)
    assert set(found) == {"loss_of_holding", "injury"}
    for each in found.values():
        assert each.chance.shape == (3, SCENARIOS, BARRIER_STATES)
        assert (each.chance == each.chance[..., :1]).all()
        assert (each.loss_factor == 1.0).all()
        assert (each.chance > 0).all()
        assert (each.chance <= 0.95).all()


def test_only_anchor_gear_loses_its_hold():
    frame = kinds({"item_class": "deck_bedding"}, {"item_class": "rode_chain"})
    assert (adrift(frame) > 0).any(axis=1).tolist() == [False, True]
    assert (hurt(frame) > 0).any(axis=1).tolist() == [False, True]
    assert holding_classes(TRADE) == set(GEAR)


@pytest.mark.parametrize("name", GEAR)
@pytest.mark.parametrize("column", ["chain_mm", "rope_mm"])
def test_thinner_gear_never_lowers_the_chance(name, column):
    chance = adrift(kinds(*({"item_class": name, column: mm} for mm in (20.0, 14.0, 10.0, 8.0, 6.0, 4.0))))
    assert (np.diff(chance, axis=0) >= -1e-15).all()
    bears = (column == "rope_mm") == (name == "rode_rope")
    assert (chance[-1].mean() > chance[0].mean()) == bears


@pytest.mark.parametrize("name", GEAR)
def test_a_larger_boat_on_the_same_gear_never_holds_better(name):
    rows = (
        {"item_class": name, "length_m": m, "chain_mm": 8.0, "rope_mm": 12.0} for m in (6.0, 9.0, 12.0, 16.0)
    )
    assert (np.diff(adrift(kinds(*rows)), axis=0) >= 0).all()


@pytest.mark.parametrize("name", GEAR)
def test_more_wind_never_lowers_the_chance(name):
    row = TRADE.physics["holding_night_wind"]
    chances = []
    for factor in (0.5, 1.0, 1.5, 2.0):
        windier = type(row)(**(row.__dict__ | {"low": factor * row.low, "high": factor * row.high}))
        trade = type(TRADE)(
            **(TRADE.__dict__ | {"physics": {**TRADE.physics, "holding_night_wind": windier}})
        )
        chances.append(adrift(kinds({"item_class": name}), trade)[0])
    assert (np.diff(chances, axis=0) >= 0).all()
    assert np.mean(chances[-1]) > 2 * np.mean(chances[0])


@pytest.mark.parametrize("name", GEAR)
def test_more_nights_at_anchor_never_lower_the_chance(name):
    frame = kinds(*({"item_class": name, "kept": kept} for kept in ("trailer", "afloat", "mooring")))
    assert (np.diff(nights_in_danger(frame, TRADE, CUBE), axis=0).mean(axis=1) > 0).all()
    assert (np.diff(adrift(frame).mean(axis=1)) > 0).all()


def test_sailing_boats_anchor_more_than_small_motor_boats():
    frame = kinds(
        *({"item_class": "rode_chain", "propulsion": p} for p in ("outboard", "sterndrive", "sail_shaft"))
    )
    nights = nights_in_danger(frame, TRADE, CUBE).mean(axis=1)
    assert (np.diff(nights) > 0).all()


def test_every_kind_of_boat_lies_at_anchor_sometimes():
    frame = kinds(*({"item_class": "rode_rope", "propulsion": name} for name in TRADE.propulsions))
    assert (adrift(frame) > 0).all()


@pytest.mark.parametrize("name", GEAR)
def test_more_people_aboard_never_lower_the_chance_that_one_is_hurt(name):
    chance = hurt(kinds(*({"item_class": name, "people_aboard": float(n)} for n in (0, 1, 2, 4, 8))))
    assert (np.diff(chance, axis=0) > 0).all()
    assert (chance[0] == 0).all()
    assert (chance < adrift(kinds({"item_class": name}))).all()


def test_a_part_without_figures_has_gear_usual_for_its_boat():
    frame = kinds(
        {"item_class": "rode_chain"},
        {"item_class": "rode_chain", "chain_mm": 8.0},
        {"item_class": "rode_chain", "chain_mm": 12.0},
    )
    usual, eight, twelve = gear_strength(frame, TRADE, CUBE).mean(axis=1)
    assert usual == pytest.approx(eight, rel=0.1)
    assert twelve == pytest.approx(2.25 * eight)


def test_steps_show_what_the_answer_is_made_of():
    frame = kinds({"item_class": "rode_chain"}, {"item_class": "rode_chain", "chain_mm": 6.0})
    frame.index = pd.Index([3, 8])
    steps = holding_steps(frame, TRADE, CUBE)
    assert steps.index.tolist() == [3, 8]
    assert steps.notna().all(axis=None)
    assert steps.loc[8, "strength"] < steps.loc[3, "strength"]
    assert steps.loc[8, "parting"] > steps.loc[3, "parting"]
    assert steps["load"].nunique() == steps["lost"].nunique() == 1
