"""Blowers, vents and ducts: sizes by volume, and how moving air thins vapour."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.fire.ventilation import (
    CUBIC_METRES_PER_CUBIC_FOOT,
    above_zero,
    blower_output,
    blower_output_cfm,
    blower_rating,
    blower_rating_cfm,
    exhaust_duct_is_low_enough,
    intake_duct_is_low_enough,
    left_after,
    natural_flow,
    natural_vent_area,
    natural_vent_area_sqin,
    open_area,
)
from riskmodel.errors import ParameterError

VOLUMES = st.floats(0.0, 5000.0)
SIZES = (
    blower_rating_cfm,
    blower_output_cfm,
    natural_vent_area_sqin,
    blower_rating,
    natural_vent_area,
    open_area,
)


@given(VOLUMES, VOLUMES)
def test_a_larger_space_never_asks_for_less(one, other):
    small, large = sorted((one, other))
    for size in SIZES:
        assert size(small) <= size(large) + 1e-9


@given(VOLUMES)
def test_cubic_metres_and_cubic_feet_tell_the_same_story(cubic_feet):
    metres = cubic_feet * CUBIC_METRES_PER_CUBIC_FOOT
    for own, foot in ((blower_rating, blower_rating_cfm), (blower_output, blower_output_cfm)):
        # At 34 cubic feet the table steps, and rounding may fall on either side.
        assert own(metres) / CUBIC_METRES_PER_CUBIC_FOOT == pytest.approx(foot(cubic_feet), rel=0.021)


def test_a_frame_of_volumes_is_answered_at_once():
    assert blower_rating_cfm([[10.0, 50.0], [100.0, 200.0]]).tolist() == [[50.0, 75.0], [150.0, 200.0]]


@pytest.mark.parametrize("size", SIZES)
def test_a_space_has_no_negative_volume(size):
    with pytest.raises(ParameterError, match=r"volume_.* must be 0 or more and finite, got -1"):
        size(-1.0)


def test_a_duct_under_water_draws_no_vapour():
    assert exhaust_duct_is_low_enough([0.1, 0.2, 0.3], 0.15).tolist() == [False, True, True]


def test_lowering_a_duct_above_the_water_never_breaks_the_rule():
    ends = np.linspace(0.11, 1.0, 50)
    for low in (exhaust_duct_is_low_enough(ends, 0.1), intake_duct_is_low_enough(ends, 0.6)):
        assert low[0]
        assert not low[-1]
        assert (np.diff(low.astype(int)) <= 0).all()


def test_a_duct_ends_at_a_height():
    with pytest.raises(ParameterError, match="end_height must be 0 or more"):
        exhaust_duct_is_low_enough(-0.1, 0.0)
    with pytest.raises(ParameterError, match="carburettor_intake must be 0 or more"):
        intake_duct_is_low_enough(0.4, -0.1)


def test_vents_of_100_square_centimetres_at_a_metre_a_second_move_600_litres_a_minute():
    assert natural_flow(100.0, 1.0) == pytest.approx(0.6)


def test_one_air_change_leaves_one_part_in_e():
    assert left_after(1.0, 4.0, 4.0) == pytest.approx(np.exp(-1.0))
    assert left_after(1.0, 4.0, 4.0, mixing=0.5) == pytest.approx(np.exp(-0.5))


def test_air_that_does_not_move_takes_nothing_away():
    assert left_after(0.0, 2.0, 60.0) == 1.0
    assert left_after(5.0, 2.0, 0.0) == 1.0


@given(st.floats(0, 50), st.floats(0, 50), st.floats(0, 60))
def test_two_runs_of_a_blower_clear_as_one_of_their_length(first, second, flow):
    whole = left_after(flow, 3.0, first + second)
    assert left_after(flow, 3.0, first) * left_after(flow, 3.0, second) == pytest.approx(whole, abs=1e-12)


def test_a_stronger_blower_leaves_less():
    assert (np.diff(left_after(np.linspace(0.1, 9.0, 30), 3.0, 4.0)) < 0).all()


def test_vapour_thins_in_some_volume():
    with pytest.raises(ParameterError, match="volume_m3 must be above 0, got 0"):
        left_after(1.0, 0.0, 1.0)
    with pytest.raises(ParameterError, match="flow must be 0 or more"):
        left_after(-1.0, 1.0, 1.0)
    with pytest.raises(ParameterError, match="flow must be above 0"):
        above_zero("flow", [1.0, 0.0])
