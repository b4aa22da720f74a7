"""Who comes in time: visits, neighbours, alarms and crews against the clock."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.flooding.attendance import DAY, nobody_comes, too_late, unnoticed

DAYS = st.floats(0.01, 400)


def test_regular_visits_leave_the_share_of_the_interval_that_is_longer_than_the_flood():
    # max(0, 1 - T/D): a week between visits, water wins in a day, a week, a fortnight, never
    seconds = np.array([1.0, 7.0, 14.0, np.inf]) * DAY
    assert nobody_comes(seconds, np.array(7.0 * DAY), 0.0) == pytest.approx([6 / 7, 0, 0, 0])


def test_visits_that_vary_agree_with_a_simulation():
    rng = np.random.default_rng(3)
    # Nodes of a quadrature stand for the log-normal: a hundredth is what three of them are good for.
    gaps = 7.0 * np.exp(0.4 * rng.standard_normal(400_000))
    fell_in = rng.choice(gaps, size=400_000, p=gaps / gaps.sum())
    left = fell_in * rng.random(400_000)
    for days in (1.0, 3.0, 6.0):
        alone = nobody_comes(np.array([days * DAY]), np.array(7.0 * DAY), 0.4)
        assert alone == pytest.approx((left > days).mean(), abs=0.02)


@given(DAYS, DAYS, st.floats(0, 1))
def test_longer_unattended_never_lowers_the_chance_that_nobody_comes(seconds, visits, spread):
    short, long = (
        nobody_comes(np.array([seconds * DAY]), np.array(each * DAY), spread)
        for each in (visits, 1.3 * visits)
    )
    assert long >= short - 1e-12


@given(DAYS, DAYS, st.floats(0, 1))
def test_a_slower_flood_never_raises_it(seconds, visits, spread):
    fast, slow = (
        nobody_comes(np.array([each * DAY]), np.array(visits * DAY), spread)
        for each in (seconds, 1.3 * seconds)
    )
    assert slow <= fast + 1e-12


def test_half_of_responses_have_come_by_the_middle_time():
    assert too_late(np.array([0.0, 60.0, 120.0, np.inf]), np.array(60.0)) == pytest.approx([1, 0.5, 1 / 9, 0])


def test_neighbours_have_the_time_a_boat_lies_low():
    # ten days to sinking, the last three of them low in the water, one chance in ten a day
    found = unnoticed(np.array([10.0 * DAY, 0.0, np.inf]), np.array(0.1), np.array(0.3))
    assert found == pytest.approx([np.exp(-0.3), 1.0, 1.0])
