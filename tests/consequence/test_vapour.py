"""Vapour of a spill: how much, how strong, how long, against the differential equation and its limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.fire.vapour import (
    Fuel,
    airborne,
    at_temperature,
    concentration,
    minutes_flammable,
    relative_density,
    strongest,
    vapour_volume,
)
from riskmodel.errors import ParameterError

RATES = st.floats(0.0, 5.0)
TIMES = st.floats(0.1, 500.0)
GASOLINE = Fuel(np.array([0.178]), np.array([0.32]), np.array([0.014]), np.array([25.0]))


def each(*values):
    return tuple(np.array([value], dtype=float) for value in values)


def test_vapour_follows_its_differential_equation():
    from scipy.integrate import solve_ivp

    liquid, evaporation, removal = 0.3, 25.0, 0.08
    answer = solve_ivp(
        lambda _, held: [-held[0] / evaporation, held[0] / evaporation - removal * held[1]],
        (0.0, 60.0),
        [liquid, 0.0],
        t_eval=[5.0, 20.0, 60.0],
        rtol=1e-10,
        atol=1e-12,
    )
    found = airborne(*each(liquid, evaporation, removal), np.array([5.0, 20.0, 60.0]))
    assert found == pytest.approx(answer.y[1], rel=1e-7)


def test_equal_rates_are_no_special_case():
    found = airborne(*each(1.0, 10.0, 0.1, 10.0))
    assert found == pytest.approx(np.exp(-1.0))
    near = airborne(*each(1.0, 10.0, 0.1 * (1 + 1e-9), 10.0))
    assert near == pytest.approx(found, rel=1e-6)


def test_with_no_air_moving_all_the_vapour_stays():
    assert airborne(*each(0.5, 10.0, 0.0, 1e4)) == pytest.approx(0.5)
    assert strongest(*each(0.5, 10.0, 0.0, 1e4)) == pytest.approx(0.5)


@given(st.floats(1.0, 1e4), RATES, TIMES)
def test_the_strongest_moment_is_the_highest_of_all_moments(evaporation, removal, minutes):
    times = np.linspace(0.0, minutes, 200)
    course = airborne(*each(1.0, evaporation, removal), times)
    peak = strongest(*each(1.0, evaporation, removal, minutes))
    assert peak >= course.max() - 1e-9
    assert 0.0 <= peak <= 1.0 + 1e-12


@given(st.floats(0.001, 2.0), st.floats(1.0, 1e4), RATES, RATES, TIMES)
def test_more_air_never_leaves_more_vapour(liquid, evaporation, one, other, minutes):
    slow, fast = sorted((one, other))
    for held in (airborne, strongest):
        assert (
            held(*each(liquid, evaporation, fast, minutes))
            <= held(*each(liquid, evaporation, slow, minutes)) + 1e-12
        )


@given(st.floats(0.0, 2.0), st.floats(0.0, 2.0), RATES, TIMES)
def test_vapour_is_in_proportion_to_the_spill(one, other, removal, minutes):
    together = airborne(*each(one + other, 20.0, removal, minutes))
    apart = airborne(*each(one, 20.0, removal, minutes)) + airborne(*each(other, 20.0, removal, minutes))
    assert together == pytest.approx(apart, abs=1e-12)


def test_vapour_is_never_stronger_than_over_its_own_liquid():
    assert concentration(*each(0.01, 1.0, 0.32)) == pytest.approx(0.01)
    assert concentration(*each(9.0, 1.0, 0.32)) == pytest.approx(0.32)


def test_a_smaller_low_layer_holds_stronger_vapour():
    assert concentration(*each(0.01, 0.5, 0.32)) == 2 * concentration(*each(0.01, 1.0, 0.32))


def test_time_over_the_limit_is_the_logarithm_of_the_strength_over_the_rate():
    assert minutes_flammable(*each(0.028, 0.014, 0.1)) == pytest.approx(np.log(2) / 0.1)


def test_vapour_under_the_limit_is_flammable_for_no_time_even_in_still_air():
    assert minutes_flammable(*each(0.01, 0.014, 0.0)) == 0.0
    assert minutes_flammable(*each(0.0, 0.014, 0.1)) == 0.0


def test_vapour_over_the_limit_in_still_air_stays_flammable():
    assert np.isinf(minutes_flammable(*each(0.02, 0.014, 0.0)))


def test_vapour_too_rich_to_burn_counts_as_flammable():
    # Above about 7.6 % gasoline is too rich (handbook, from memory), but its rim is not.
    assert minutes_flammable(*each(0.3, 0.014, 0.1)) > minutes_flammable(*each(0.07, 0.014, 0.1))


def test_warmth_gives_more_vapour_sooner():
    warm = at_temperature(GASOLINE, np.array([38.0]), np.array([18.0]))
    assert warm.saturation == pytest.approx(0.64)
    assert warm.evaporation == pytest.approx(12.5)
    assert warm.vapour_per_litre == pytest.approx(0.178 * 311.15 / 293.15)
    assert warm.lower_limit == pytest.approx(0.014)


def test_the_handbooks_temperature_changes_nothing():
    same = at_temperature(GASOLINE, np.array([20.0]), np.array([18.0]))
    for field in ("vapour_per_litre", "saturation", "lower_limit", "evaporation"):
        assert getattr(same, field) == pytest.approx(getattr(GASOLINE, field))


def test_saturation_never_passes_pure_vapour():
    assert at_temperature(GASOLINE, np.array([90.0]), np.array([10.0])).saturation == 1.0


def test_air_is_as_heavy_as_air():
    assert relative_density(28.96) == pytest.approx(1.0)


def test_weights_of_nothing_are_refused():
    with pytest.raises(ParameterError, match="molar_mass_g must be above 0, got 0"):
        vapour_volume(0.74, 0.0)
    with pytest.raises(ParameterError, match="density_kg_per_l must be 0 or more"):
        vapour_volume(-0.74, 100.0)
    with pytest.raises(ParameterError, match="molar_mass_g must be above 0"):
        relative_density(0.0)
