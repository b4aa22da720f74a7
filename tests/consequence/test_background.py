"""What sinks boats whatever their parts do: a pump, a cover and a draining deck help, time alone does not."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.consequence import background_of_boats
from riskmodel.consequence.background import USES, background_rates
from riskmodel.consequence.follow import BARRIER_STATES, SCENARIOS

OPEN_BOAT = {
    **dict.fromkeys(("flooding_volume_m3", "pump_lpm", "pump_head_m", "pump_shut_off_m"), np.nan),
    **dict.fromkeys(("pump_bends", "pump_check_valve", "pump_amps", "pump_hose_m"), np.nan),
    **{"length_m": 6.0, "hulls": 1.0, "compartments": 1.0, "kept": "mooring", "state": "in_use"},
    **{"visited_every_days": 14.0, "shore_power": False, "battery_ah": 80.0, "climate": "temperate"},
    **{"low_transom": True, "self_draining": False, "covered": False, "propulsion": "outboard"},
}
YES_NO = ("shore_power", "low_transom", "self_draining", "covered")
NONE, PUMP, ALARM, BOTH = range(BARRIER_STATES)
SUNK, WET = "sinking_unattended", "partial_flooding"
ROUNDING = 1e-12
VISITS, LENGTH = st.floats(0.5, 120), st.floats(3, 15)
CLIMATE = st.sampled_from(["cold", "temperate", "hot", "tropical"])
ANSWER = st.booleans()


@pytest.fixture(scope="module")
def rates(trade, cube):
    """Rates (kinds, S, states) a year by end state, each kind what it adds to an open boat at a mooring."""

    def run(*changes, of=trade):
        kinds = pd.DataFrame([OPEN_BOAT | change for change in changes])
        return background_rates(kinds.astype(dict.fromkeys(YES_NO, bool))[list(USES)], of, cube)

    return run


def wetted(found):
    """Boats sunk or spoilt: one that is spoilt no more because it sinks is no better off."""
    return found[SUNK] + found[WET]


def assert_never_more(found, first, second):
    """The second kind sinks, and is reached by water at all, no more often than the first."""
    for values in (found[SUNK], wetted(found)):
        assert (values[second] <= values[first] * (1 + 1e-9) + ROUNDING).all()


def test_rates_have_a_row_for_each_kind_scenario_and_state(rates):
    found = rates({}, {"length_m": 9.0})
    assert set(found) == {SUNK, WET}
    for values in found.values():
        assert values.shape == (2, SCENARIOS, BARRIER_STATES)
        assert np.isfinite(values).all()
        assert (values >= 0).all()


@settings(max_examples=40)
@given(VISITS, LENGTH, CLIMATE, ANSWER, st.floats(5, 150))
def test_a_working_pump_never_raises_it(rates, visits, length, climate, power, flow):
    boat = {"visited_every_days": visits, "length_m": length, "climate": climate, "pump_lpm": flow}
    found = rates(boat | {"shore_power": power})
    for values in (found[SUNK], wetted(found)):
        assert (values[:, :, PUMP] <= values[:, :, NONE] + ROUNDING).all()


@settings(max_examples=40)
@given(VISITS, LENGTH, st.floats(5, 100), st.floats(1, 4))
def test_a_bigger_pump_never_raises_it(rates, visits, length, flow, factor):
    boat = {"visited_every_days": visits, "length_m": length, "pump_amps": 4.0}
    assert_never_more(rates(boat | {"pump_lpm": flow}, boat | {"pump_lpm": flow * factor}), 0, 1)


@settings(max_examples=40)
@given(VISITS, st.floats(20, 300), st.floats(1, 4))
def test_shore_power_and_a_bigger_battery_never_raise_it(rates, visits, battery, factor):
    boat = {"visited_every_days": visits, "battery_ah": battery}
    found = rates(boat, boat | {"battery_ah": battery * factor}, boat | {"shore_power": True})
    assert_never_more(found, 0, 1)
    assert_never_more(found, 0, 2)


@settings(max_examples=40)
@given(VISITS, LENGTH, CLIMATE, ANSWER, ANSWER, st.sampled_from(["covered", "self_draining"]))
def test_a_cover_or_a_draining_deck_never_raises_it(rates, visits, length, climate, low, other, column):
    boat = {"visited_every_days": visits, "length_m": length, "climate": climate, "low_transom": low}
    boat |= {"covered": other, "self_draining": other}
    assert_never_more(rates(boat | {column: False}, boat | {column: True}), 0, 1)


@settings(max_examples=40)
@given(VISITS, st.floats(1, 6), LENGTH, CLIMATE, ANSWER, ANSWER)
def test_longer_between_visits_never_lowers_it(rates, visits, factor, length, climate, power, covered):
    boat = {"length_m": length, "climate": climate, "shore_power": power, "covered": covered}
    longer, shorter = boat | {"visited_every_days": visits * factor}, boat | {"visited_every_days": visits}
    found = rates(longer, shorter)[SUNK]
    # More water at a time, fewer times. A boat that sinks in most intervals cannot sink oftener than it is raised.
    seldom = found[0, :, NONE] * visits * factor / 365.25 < 0.5
    assert (found[1][seldom] <= found[0][seldom] * (1 + 1e-9) + ROUNDING).all()


def test_longer_between_visits_never_lowers_it_even_where_sinking_is_sure(rates):
    longer, shorter = ({"length_m": 3.0, "visited_every_days": days} for days in (210.0, 35.0))
    found = rates(longer, shorter)[SUNK]
    assert (found[1, :, NONE] <= found[0, :, NONE] + ROUNDING).all()


@settings(max_examples=40)
@given(VISITS, LENGTH, CLIMATE, ANSWER)
def test_a_high_transom_never_raises_it(rates, visits, length, climate, covered):
    boat = {"visited_every_days": visits, "length_m": length, "climate": climate, "covered": covered}
    assert_never_more(rates(boat, boat | {"low_transom": False}), 0, 1)


@settings(max_examples=40)
@given(VISITS, st.floats(0.5, 20), st.floats(1, 4))
def test_a_roomier_hull_never_raises_it(rates, visits, volume, factor):
    boat = {"visited_every_days": visits}
    changes = {"flooding_volume_m3": volume}, {"flooding_volume_m3": volume * factor}
    assert_never_more(rates(*(boat | change for change in changes)), 0, 1)


def test_the_alarm_changes_nothing_that_the_weather_does(rates):
    for values in rates({}, {"length_m": 9.0}).values():
        assert np.array_equal(values[:, :, ALARM], values[:, :, NONE])
        assert np.array_equal(values[:, :, BOTH], values[:, :, PUMP])


@pytest.mark.parametrize("state", ["ashore", "on_trailer"])
def test_a_boat_out_of_the_water_has_next_to_none(rates, state):
    found = rates({}, {"state": state})
    for values in found.values():
        assert values[1].mean() < 0.05 * values[0].mean()


def test_snow_falls_in_the_cold_only(rates, trade):
    found = rates({"climate": "cold"}, {"climate": "temperate"}, {"climate": "hot"})
    assert (found[SUNK][0] > found[SUNK][1]).all()
    assert np.array_equal(found[SUNK][1], found[SUNK][2])
    no_snow = replace(trade, background=tuple(row for row in trade.background if row.cause != "snow"))
    assert rates({"climate": "cold"}, of=no_snow)[SUNK] == pytest.approx(found[SUNK][[1]])


def test_a_wave_does_not_ask_whether_there_is_a_cover(rates, trade):
    waves = replace(trade, background=tuple(row for row in trade.background if row.cause == "over_transom"))
    found = rates({}, {"covered": True}, {"low_transom": False}, of=waves)
    assert np.array_equal(found[SUNK][0], found[SUNK][1])
    assert found[SUNK][2].max() == 0.0


def test_causes_add_up(rates, trade):
    boat = {"climate": "cold"}
    alone = [rates(boat, of=replace(trade, background=(row,)))[SUNK] for row in trade.background]
    assert rates(boat)[SUNK] == pytest.approx(sum(alone))


def test_without_a_cause_nothing_comes(rates, trade):
    assert all(values.max() == 0 for values in rates({}, of=replace(trade, background=())).values())


def test_an_open_boat_left_alone_in_the_rain_sinks_far_more_often_than_a_yacht(rates):
    # judgement, no source: the first way open boats sink at their mooring
    yacht = {"length_m": 11.0, "self_draining": True, "low_transom": False, "shore_power": True}
    found = rates({}, yacht)[SUNK].mean(axis=1)
    assert found[0, PUMP] > 10 * found[1, PUMP]


# Over the horizon


@pytest.fixture(scope="module")
def fleet(boats_and_year):
    boats = {}, {"vessel_id": "B2", "propulsion": "outboard", "length_m": 6, "kept": "mooring"}
    _, with_pumps, year = boats_and_year([{"item_class": "bilge_pump"}], boats)
    return with_pumps, year


def test_a_chance_is_one_over_any_horizon_and_grows_with_it(fleet, trade):
    boats, year = fleet
    short, long = (background_of_boats(boats, year, years, trade) for years in (0.5, 500.0))
    for name in short:
        assert (short[name] < long[name]).all()
        assert long[name].max() <= 1.0


def test_a_short_horizon_is_the_rate_times_its_length(fleet, trade):
    boats, year = fleet
    small = background_of_boats(boats, year, 1e-6, trade)[SUNK]
    twice = background_of_boats(boats, year, 2e-6, trade)[SUNK]
    assert twice == pytest.approx(2 * small, rel=1e-4)


def test_half_a_year_ashore_halves_it(fleet, trade):
    boats, year = fleet
    ashore = [year.assign(share=0.5), year.assign(share=0.5, state="ashore")]
    # So short a horizon that nothing comes twice.
    halved = background_of_boats(boats, pd.concat(ashore, ignore_index=True), 1e-4, trade)
    whole = background_of_boats(boats, year, 1e-4, trade)
    for name in whole:
        assert halved[name].mean() == pytest.approx(0.5 * whole[name].mean(), rel=0.02)


def test_boats_stand_in_the_order_given(fleet, trade):
    boats, year = fleet
    found = background_of_boats(boats, year, 1.0, trade)[SUNK]
    turned = background_of_boats(boats.iloc[::-1].reset_index(drop=True), year, 1.0, trade)[SUNK]
    assert np.array_equal(turned, found[::-1])
    assert found[1].mean() > found[0].mean()
