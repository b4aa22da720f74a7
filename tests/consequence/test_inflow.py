"""Holes, drips and rain: what they let in, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.flooding import inflow_rate
from riskmodel.consequence.flooding.inflow import (
    GRAVITY,
    IDEAL,
    SHARP_EDGED,
    SHORT_TUBE,
    combined_opening,
    drip_rate,
    litres_per_day,
    rain_inflow,
    total_inflow,
)
from riskmodel.errors import ParameterError

AREAS = st.floats(0, 0.01)
DEPTHS = st.floats(-1, 3)


def test_a_hole_lets_in_its_area_times_the_speed_of_a_fall_from_the_surface():
    assert inflow_rate(0.001, 0.8, IDEAL) == pytest.approx(0.001 * np.sqrt(2 * GRAVITY * 0.8))


def test_a_hole_is_sharp_edged_unless_said_otherwise():
    assert inflow_rate(0.001, 0.8) == pytest.approx(SHARP_EDGED * inflow_rate(0.001, 0.8, IDEAL))
    assert inflow_rate(0.001, 0.8, SHORT_TUBE) > inflow_rate(0.001, 0.8)


@pytest.mark.parametrize("depth", [0.0, -0.01, -3.0])
def test_a_hole_at_or_above_the_waterline_lets_nothing_in(depth):
    assert inflow_rate(0.001, depth) == 0


def test_areas_depths_and_coefficients_broadcast():
    flow = inflow_rate(np.full((3, 1, 1), 1e-4), np.array([[0.1], [0.4]]), np.array([0.61, 0.82, 1.0, 0.7]))
    assert flow.shape == (3, 2, 4)
    np.testing.assert_allclose(flow[:, 1], 2 * flow[:, 0])


@given(AREAS, AREAS, DEPTHS, DEPTHS)
def test_a_larger_or_deeper_hole_never_lets_in_less(area, wider, depth, deeper):
    small, large = sorted((area, wider))
    high, low = sorted((depth, deeper))
    assert inflow_rate(small, high) <= inflow_rate(large, low)


@given(st.lists(st.tuples(AREAS, DEPTHS), min_size=1, max_size=5))
def test_holes_together_let_in_what_each_does_alone(holes):
    areas, depths = np.array(holes).T
    assert total_inflow(areas, depths) == pytest.approx(sum(inflow_rate(a, h) for a, h in holes), abs=1e-15)


@given(st.lists(st.tuples(AREAS, DEPTHS), min_size=1, max_size=5))
def test_one_hole_that_stands_for_several_lets_in_as_much(holes):
    areas, depths = np.array(holes).T
    assert inflow_rate(*combined_opening(areas, depths)) == pytest.approx(
        total_inflow(areas, depths), rel=1e-9, abs=1e-15
    )


def test_holes_stand_along_the_last_axis():
    areas, depths = np.full((4, 2, 3), 1e-4), np.array([0.1, 0.2, -0.5])
    area, depth = combined_opening(areas, depths, SHORT_TUBE)
    assert total_inflow(areas, depths).shape == area.shape == depth.shape == (4, 2)
    np.testing.assert_allclose(area, 2e-4 * SHORT_TUBE / SHARP_EDGED)
    assert ((depth > 0.1) & (depth < 0.2)).all()


def test_two_like_holes_stand_for_one_of_twice_the_area():
    area, depth = combined_opening([1e-4, 1e-4], [0.5, 0.5])
    assert (area, depth) == (pytest.approx(2e-4), pytest.approx(0.5))


def test_holes_above_water_stand_for_no_hole():
    assert combined_opening([1e-4, 1e-4], [-0.5, 0.0]) == (0, 0)


def test_a_finer_drop_makes_a_smaller_drip():
    assert drip_rate(60, 25) < drip_rate(60) < drip_rate(60, 15)
    assert drip_rate(0) == 0


def test_rain_counts_by_the_area_it_falls_on_and_the_share_that_stays():
    # A hundredth of a metre a day on 10 m2, a tenth of it to the bilge: 10 litres a day.
    assert litres_per_day(rain_inflow(0.01, 10, 0.1)) == pytest.approx(10)
    assert rain_inflow([0.0, 0.01], 10, 1.0).tolist() == [0, pytest.approx(0.1 / 86400)]


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: inflow_rate(-1e-4, 0.5), "area must be 0 or more and finite, got -0.0001"),
        (lambda: inflow_rate(np.nan, 0.5), "area must be 0 or more and finite, got nan"),
        (lambda: inflow_rate(np.inf, 0.5), "area must be 0 or more and finite, got inf"),
        (lambda: inflow_rate(1e-4, [0.5, np.nan]), "depth must be finite, got nan"),
        (lambda: inflow_rate(1e-4, np.inf), "depth must be finite, got inf"),
        (lambda: inflow_rate(1e-4, 0.5, 0.0), "discharge_coefficient must be above 0 and at most 1, got 0.0"),
        (
            lambda: inflow_rate(1e-4, 0.5, 1.66),
            "discharge_coefficient must be above 0 and at most 1, got 1.66",
        ),
        (lambda: inflow_rate(1e-4, 0.5, np.nan), "discharge_coefficient must be .* got nan"),
        (lambda: total_inflow([1e-4, -1e-4], 0.5), "area must be 0 or more.* at position 1"),
        (lambda: combined_opening([1e-4, 1e-4], np.nan), "depth must be finite"),
        (lambda: drip_rate(-1), "drops_per_minute must be 0 or more"),
        (lambda: drip_rate(60, 0), "drops_per_millilitre must be above 0, got 0"),
        (lambda: litres_per_day(-1), "flow must be 0 or more"),
        (lambda: rain_inflow(-0.01, 10, 0.1), "rain_m_per_day must be 0 or more"),
        (lambda: rain_inflow(0.01, -10, 0.1), "open_area_m2 must be 0 or more"),
        (lambda: rain_inflow(0.01, 10, 1.1), "share_entering must be at most 1, got 1.1"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ParameterError, match=says):
        call()
