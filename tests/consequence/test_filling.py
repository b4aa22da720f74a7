"""How long a hull takes to fill: what must hold of any boat, and what is refused."""

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.flooding import inflow_rate, time_to_flood
from riskmodel.consequence.flooding.filling import (
    compartment_volume,
    filling_time,
    leak,
    sinking_volume,
    torricelli_emptying_time,
)
from riskmodel.errors import ParameterError

VOLUME, AREA, DEPTH = 4.0, 5e-4, 0.6
COMING = float(inflow_rate(AREA, DEPTH))
HOUR = 3600.0
# Rounding of a comparison between two times that are equal but for it.
SLACK = 1 + 1e-9
BOATS, BUDGET = 1_000_000, 2.0

VOLUMES = st.floats(0.05, 50)
AREAS = st.sampled_from([0.0, 1e-9]) | st.floats(1e-7, 0.01)
DEPTHS = st.sampled_from([0.0]) | st.floats(-0.2, 2)
SETTLED = st.sampled_from([0.0]) | st.floats(0, 2)
FLOWS = st.sampled_from([0.0, 1e-9]) | st.floats(0, 0.02)
LASTS = st.sampled_from([0.0, np.inf]) | st.floats(0, 1e6)
PAIR = st.tuples


def hull(volume=VOLUME, area=AREA, depth=DEPTH, settled=None, rain=0.0, pump=0.0, lasts=np.inf):
    hole = leak(area, depth, settled_depth=settled, background=rain)
    return filling_time(volume, hole, pump=pump, pump_seconds=lasts)


def test_a_head_that_stays_fills_at_a_rate_that_stays():
    assert time_to_flood(VOLUME, AREA, DEPTH) == pytest.approx(VOLUME / COMING)
    assert time_to_flood(VOLUME, AREA, DEPTH, discharge_coefficient=0.82) == pytest.approx(
        VOLUME / COMING * 0.61 / 0.82
    )


def test_a_pump_takes_its_flow_from_the_inflow():
    assert time_to_flood(VOLUME, AREA, DEPTH, pump=0.25 * COMING) == pytest.approx(VOLUME / (0.75 * COMING))


def test_a_pump_that_keeps_up_holds_the_boat_until_its_battery_is_flat():
    assert time_to_flood(VOLUME, AREA, DEPTH, pump=COMING) == np.inf
    assert time_to_flood(VOLUME, AREA, DEPTH, pump=2 * COMING, pump_seconds=20 * HOUR) == pytest.approx(
        20 * HOUR + VOLUME / COMING
    )


def test_a_pump_that_stops_halfway_leaves_the_rest_to_the_inflow():
    half = 0.5 * VOLUME / (0.5 * COMING)
    assert time_to_flood(VOLUME, AREA, DEPTH, pump=0.5 * COMING, pump_seconds=half) == pytest.approx(
        half + 0.5 * VOLUME / COMING
    )


@pytest.mark.parametrize("hole", [{"area": 0.0}, {"depth": 0.0}, {"depth": -0.4}])
def test_a_boat_without_a_hole_under_water_never_fills(hole):
    assert hull(**hole) == np.inf


def test_rain_alone_fills_a_boat_whose_pump_has_stopped():
    assert hull(area=0.0, rain=1e-6) == pytest.approx(VOLUME / 1e-6)
    assert hull(area=0.0, rain=1e-6, pump=1e-3) == np.inf
    assert hull(area=0.0, rain=1e-6, pump=1e-3, lasts=HOUR) == pytest.approx(HOUR + VOLUME / 1e-6)


def test_rain_beside_a_weep_of_almost_nothing_adds_what_little_the_weep_lets_in():
    # To first order in the weep, whose flow goes with the mean root of the head; the second is below rounding.
    mean_root = 2 / 3 * (DEPTH**1.5 - 0.3**1.5) / (DEPTH - 0.3)
    weep = float(inflow_rate(1e-13, 1.0)) * mean_root
    assert hull(area=1e-13, rain=1e-5, settled=0.3) == pytest.approx(VOLUME / (1e-5 + weep), rel=1e-14)


def test_a_boat_that_settles_to_where_its_pump_keeps_up_stays_there():
    # A tenth of the head drives a third of the flow: the pump of half the flow wins before the hull is full.
    assert hull(settled=0.1 * DEPTH, pump=0.5 * COMING) == np.inf
    assert np.isfinite(hull(settled=0.1 * DEPTH, pump=0.3 * COMING))
    assert np.isfinite(hull(settled=0.1 * DEPTH, pump=0.5 * COMING, lasts=1000 * HOUR))


@pytest.mark.parametrize("depth", [1e-40, 1e-12, 1e-3])
def test_a_head_that_grows_from_almost_nothing_is_followed_while_the_pump_runs(depth):
    # Rain and pump cancel, and are next to nothing: the pump makes no difference.
    whole = hull(depth=depth, settled=DEPTH)
    assert hull(depth=depth, settled=DEPTH, rain=1e-12, pump=1e-12, lasts=0.3 * whole) == pytest.approx(
        whole, rel=1e-6
    )


def test_a_head_used_up_to_the_last_fills_in_twice_the_time():
    assert hull(settled=0.0) == pytest.approx(2 * VOLUME / COMING)


def test_a_head_hardly_changed_agrees_with_one_that_stays():
    assert hull(settled=DEPTH * (1 - 1e-12)) == pytest.approx(VOLUME / COMING, rel=1e-11)


@pytest.mark.parametrize("contrast", [0.0299, 0.0301])
def test_series_and_closed_form_meet(contrast):
    # The mean of 1 / rate over the volume, by Gauss-Legendre on 20 nodes.
    settled = DEPTH * ((1 - contrast) / (1 + contrast)) ** 2
    nodes, weights = np.polynomial.legendre.leggauss(20)
    heads = DEPTH + (settled - DEPTH) * (nodes + 1) / 2
    expected = VOLUME * np.sum(weights / 2 / inflow_rate(AREA, heads))
    assert hull(settled=settled) == pytest.approx(expected, rel=1e-12)


def test_a_hull_that_cannot_be_filled_never_is():
    assert hull(volume=np.inf) == np.inf
    assert hull(volume=np.inf, settled=0.2, pump=0.5 * COMING, lasts=HOUR) == np.inf


def test_everything_broadcasts_and_a_number_stays_a_number():
    hole = leak(np.full((3, 1), AREA), np.array([0.2, 0.6]), background=np.zeros((4, 1, 1)))
    assert filling_time(VOLUME, hole, pump=np.zeros((5, 1, 1, 1))).shape == (5, 4, 3, 2)
    assert np.ndim(time_to_flood(VOLUME, AREA, DEPTH)) == 0
    assert time_to_flood(np.ones((0, 3)), AREA, DEPTH).shape == (0, 3)


def test_a_boat_in_a_long_list_takes_the_time_it_takes_alone():
    generator = np.random.default_rng(3)
    n = 40_000
    volume, settled = generator.uniform(1, 9, n), generator.uniform(0, DEPTH, n)
    pump, lasts = generator.uniform(0, 1.2 * COMING, n), generator.uniform(0, 5 * HOUR, n)
    together = hull(volume, settled=settled, pump=pump, lasts=lasts)
    for i in range(0, n, 3_777):
        assert hull(volume[i], settled=settled[i], pump=pump[i], lasts=lasts[i]) == pytest.approx(
            together[i], rel=1e-10
        )


@given(VOLUMES, AREAS, DEPTHS, SETTLED, FLOWS, FLOWS, LASTS)
def test_a_time_is_never_missing_and_never_shorter_than_the_fastest_filling(
    volume, area, depth, settled, rain, pump, lasts
):
    found = hull(volume, area, depth, settled, rain, pump, lasts)
    fastest = float(inflow_rate(area, max(depth, settled))) + rain
    assert found * SLACK >= (volume / fastest if fastest > 0 else np.inf)


@given(VOLUMES, AREAS, PAIR(DEPTHS, DEPTHS), SETTLED, FLOWS, FLOWS, LASTS)
def test_a_deeper_hole_never_takes_longer(volume, area, depths, settled, rain, pump, lasts):
    high, low = sorted(depths)
    deep = hull(volume, area, low, settled, rain, pump, lasts)
    assert deep <= hull(volume, area, high, settled, rain, pump, lasts) * SLACK


@given(VOLUMES, PAIR(AREAS, AREAS), DEPTHS, SETTLED, FLOWS, FLOWS, LASTS)
def test_a_larger_hole_never_takes_longer(volume, areas, depth, settled, rain, pump, lasts):
    small, large = sorted(areas)
    wide = hull(volume, large, depth, settled, rain, pump, lasts)
    assert wide <= hull(volume, small, depth, settled, rain, pump, lasts) * SLACK


@given(VOLUMES, AREAS, DEPTHS, PAIR(SETTLED, SETTLED), PAIR(FLOWS, FLOWS), FLOWS, LASTS)
def test_more_head_when_settled_or_more_rain_never_takes_longer(
    volume, area, depth, settled, rains, pump, lasts
):
    (less, more), (dry, wet) = sorted(settled), sorted(rains)
    fast = hull(volume, area, depth, more, wet, pump, lasts)
    assert fast <= hull(volume, area, depth, less, dry, pump, lasts) * SLACK


@given(PAIR(VOLUMES, VOLUMES), AREAS, DEPTHS, FLOWS, FLOWS, LASTS)
def test_a_larger_hull_never_fills_sooner(volumes, area, depth, rain, pump, lasts):
    small, large = sorted(volumes)
    roomy = hull(large, area, depth, None, rain, pump, lasts)
    assert roomy * SLACK >= hull(small, area, depth, None, rain, pump, lasts)


@given(VOLUMES, AREAS, DEPTHS, SETTLED, FLOWS, PAIR(FLOWS, FLOWS), PAIR(LASTS, LASTS))
def test_a_larger_pump_or_a_longer_battery_never_fills_sooner(
    volume, area, depth, settled, rain, pumps, lasts
):
    (weak, strong), (short, long) = sorted(pumps), sorted(lasts)
    saved = hull(volume, area, depth, settled, rain, strong, long)
    assert saved * SLACK >= hull(volume, area, depth, settled, rain, weak, short)


def test_a_million_boats_whose_pumps_stop_take_seconds_not_minutes():
    generator = np.random.default_rng(5)
    volume, area = generator.uniform(0.1, 10, BOATS), 10 ** generator.uniform(-6, -2.5, BOATS)
    hole = leak(area, 0.5, settled_depth=0.2, background=1e-7)
    coming = inflow_rate(area, 0.5)
    started = time.process_time()
    times = filling_time(volume, hole, pump=0.7 * coming, pump_seconds=0.8 * volume / coming)
    assert time.process_time() - started < BUDGET
    assert np.isfinite(times).all()


def test_one_compartment_takes_its_part_of_the_hull():
    assert compartment_volume(12, [1, 2, 4]).tolist() == [12, 6, 3]


def test_a_boat_sinks_by_one_compartment_only_beyond_its_reserve():
    assert sinking_volume(12, [1, 2, 4], 0.3).tolist() == [12, 6, np.inf]
    assert sinking_volume(12, 4, 0.0) == 3
    assert sinking_volume(12, 2, [0.4, 0.5]).tolist() == [6, np.inf]


def test_a_hull_that_uses_up_its_head_fills_as_a_tank_of_its_waterplane_empties():
    # A tank of area V / h that stands h high above its hole.
    assert torricelli_emptying_time(VOLUME / DEPTH, AREA, DEPTH) == pytest.approx(hull(settled=0.0))


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: time_to_flood(0, AREA, DEPTH), "volume must be above 0, got 0.0"),
        (lambda: time_to_flood([1, np.nan], AREA, DEPTH), "volume must be above 0, got nan"),
        (lambda: time_to_flood(VOLUME, -AREA, DEPTH), "area must be 0 or more"),
        (lambda: time_to_flood(VOLUME, AREA, np.nan), "depth must be finite"),
        (
            lambda: time_to_flood(VOLUME, AREA, DEPTH, discharge_coefficient=2),
            "discharge_coefficient must be",
        ),
        (lambda: time_to_flood(VOLUME, AREA, DEPTH, pump=-1), "pump must be 0 or more"),
        (
            lambda: time_to_flood(VOLUME, AREA, DEPTH, pump_seconds=-1),
            "pump_seconds must be 0 or more, got -1.0",
        ),
        (lambda: time_to_flood(VOLUME, AREA, DEPTH, pump_seconds=np.nan), "pump_seconds must be .* got nan"),
        (lambda: leak(AREA, DEPTH, settled_depth=np.nan), "depth must be finite, got nan"),
        (lambda: leak(AREA, DEPTH, background=-1), "background must be 0 or more"),
        (lambda: compartment_volume(12, 0), "compartments must be 1 or more, got 0.0"),
        (lambda: compartment_volume(-12, 2), "volume must be 0 or more"),
        (lambda: sinking_volume(12, 2, 1.2), "reserve_share must be at most 1, got 1.2"),
        (lambda: sinking_volume(12, 2, np.nan), "reserve_share must be 0 or more"),
        (lambda: torricelli_emptying_time(1, 0, 1), "hole_area must be above 0, got 0"),
        (lambda: torricelli_emptying_time(-1, 1, 1), "tank_area must be 0 or more"),
        (lambda: torricelli_emptying_time(1, 1, -1), "height must be 0 or more"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ParameterError, match=says):
        call()
