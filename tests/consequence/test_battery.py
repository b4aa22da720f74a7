"""How long the battery lets a pump run, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.flooding.battery import (
    AMPERES_PER_LITRE_A_MINUTE,
    USABLE_SHARE,
    endurance,
    pump_amperes,
    pump_duty,
    pump_seconds,
)
from riskmodel.errors import ParameterError

HOUR = 3600
FLOWS = st.floats(0, 0.01)
CAPACITIES = st.floats(0, 400)
CURRENTS = st.floats(0.1, 20)


def test_a_pump_runs_the_share_of_the_time_its_inflow_asks_for():
    np.testing.assert_allclose(pump_duty([0, 1e-4, 5e-4, 1e-3, 2e-3], 1e-3), [0, 0.1, 0.5, 1, 1])


def test_a_pump_that_throws_nothing_runs_all_the_time_unless_the_bilge_is_dry():
    assert pump_duty([0.0, 1e-9], 0.0).tolist() == [0, 1]


def test_a_battery_lasts_its_usable_ampere_hours_over_duty_times_current():
    # 80 Ah, half usable, 4 A a quarter of the time: 40 hours.
    assert pump_seconds(80, 0.25, 4, usable_share=0.5) == pytest.approx(40 * HOUR)


def test_the_usable_share_counts_as_it_is_stated():
    assert pump_seconds(80, 1, 4) == pytest.approx(80 * USABLE_SHARE / 4 * HOUR)
    assert pump_seconds(80, 1, 4, usable_share=0.8) > pump_seconds(80, 1, 4)


def test_a_pump_that_never_runs_never_empties_the_battery():
    assert pump_seconds(80, 0, 4) == np.inf


def test_an_empty_battery_runs_nothing():
    assert pump_seconds(0, 0.5, 4) == 0


def test_a_draw_near_nothing_lasts_for_ever():
    assert pump_seconds(80, 1e-310, 1) == np.inf


@pytest.mark.parametrize(
    ("charger", "hours"), [(0, 20), (1, 40), (2, np.inf), (10, np.inf), (np.inf, np.inf)]
)
def test_shore_power_is_unlimited_while_the_charger_keeps_up(charger, hours):
    # 80 Ah, half usable, 4 A half of the time: a mean draw of 2 A.
    assert pump_seconds(80, 0.5, 4, charger_amperes=charger) == pytest.approx(hours * HOUR)


def test_the_current_follows_from_the_label_where_it_is_not_given():
    # 60 litres a minute.
    assert pump_amperes(1e-3) == pytest.approx(60 * AMPERES_PER_LITRE_A_MINUTE)
    assert pump_amperes(1e-3, 0.1) == pytest.approx(6)


def test_endurance_is_that_of_the_duty_the_inflow_asks_for():
    inflow, pump = np.array([0, 2e-4, 1e-3, 5e-3]), 1e-3
    expected = pump_seconds(100, [0, 0.2, 1, 1], 5)
    np.testing.assert_allclose(endurance(inflow, pump, 100, 5), expected)


def test_endurance_broadcasts():
    assert endurance(np.zeros((3, 1)), np.ones(2), 100, np.ones((4, 1, 1))).shape == (4, 3, 2)


@given(FLOWS, FLOWS, FLOWS, CAPACITIES, CURRENTS)
def test_more_water_never_lets_the_battery_last_longer(inflow, more, pump, battery, current):
    low, high = sorted((inflow, more))
    assert endurance(high, pump, battery, current) <= endurance(low, pump, battery, current)


@given(FLOWS, FLOWS, FLOWS, CAPACITIES, CURRENTS)
def test_a_pump_that_throws_more_for_the_same_current_never_runs_shorter(
    inflow, pump, more, battery, current
):
    small, large = sorted((pump, more))
    assert endurance(inflow, large, battery, current) >= endurance(inflow, small, battery, current)


@given(FLOWS, FLOWS, CAPACITIES, CAPACITIES, CURRENTS, st.floats(0, 20))
def test_more_battery_or_a_charger_never_runs_shorter(inflow, pump, battery, more, current, charger):
    small, large = sorted((battery, more))
    bare = endurance(inflow, pump, small, current)
    assert bare <= endurance(inflow, pump, large, current)
    assert bare <= endurance(inflow, pump, small, current, charger_amperes=charger)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: pump_duty(-1e-4, 1e-3), "inflow must be 0 or more"),
        (lambda: pump_duty(1e-4, np.nan), "pump must be 0 or more and finite, got nan"),
        (lambda: pump_amperes(-1), "rated_flow must be 0 or more"),
        (lambda: pump_amperes(1e-3, -1), "amperes_per_litre_a_minute must be 0 or more"),
        (lambda: pump_seconds(-80, 1, 4), "battery_ah must be 0 or more"),
        (lambda: pump_seconds(80, 1.5, 4), "duty must be at most 1, got 1.5"),
        (lambda: pump_seconds(80, 1, -4), "amperes must be 0 or more"),
        (lambda: pump_seconds(80, 1, 4, usable_share=1.1), "usable_share must be at most 1, got 1.1"),
        (lambda: pump_seconds(80, 1, 4, charger_amperes=-1), "charger_amperes must be 0 or more, got -1.0"),
        (lambda: pump_seconds(80, 1, 4, charger_amperes=[1, np.nan]), "charger_amperes must be .* got nan"),
        (lambda: endurance(1e-4, 1e-3, np.inf, 4), "battery_ah must be 0 or more and finite, got inf"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ParameterError, match=says):
        call()
