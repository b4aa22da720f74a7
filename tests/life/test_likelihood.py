"""The likelihood and its slopes: against the plain formula, finite differences, and far out in the tails."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.life import LifeRows, WeibullPrior
from riskmodel.life.likelihood import log_likelihood, log_posterior_grid, slope
from riskmodel.life.tally import tally_rows

INF = np.inf
MIXED = LifeRows(
    lower=[3, 7, 5, 9, 0, 2, 4, 6],
    upper=[3, 7, INF, INF, 4, 5, 9, 6.5],
    entry=[0, 2, 0, 6, 0, 1, 3, 0],
    count=[1, 2, 3, 1, 2, 0.5, 1, 1],
)
PRIOR = WeibullPrior(math.log(2.2), 0.3, math.log(4), 0.4)
POINTS = [(0.2, 0.5), (0.8, 1.4), (1.3, 2.0), (-0.5, 1.0)]


def plain_log_likelihood(rows, shape, scale):
    """Row by row, as the formulas stand."""

    def hazard(age):
        return (age / scale) ** shape

    total = 0.0
    for low, high, entry, count in zip(rows.lower, rows.upper, rows.entry, rows.count, strict=True):
        value = hazard(entry) - hazard(low)
        if low == high:
            value += math.log(shape / scale * (low / scale) ** (shape - 1))
        elif math.isfinite(high):
            value += math.log(1 - math.exp(hazard(low) - hazard(high)))
        total += count * value
    return total


@pytest.mark.parametrize(("shape", "scale"), [(0.7, 9.0), (1.0, 5.0), (2.5, 8.0), (6.0, 6.0)])
def test_agrees_with_the_formula_row_by_row(shape, scale):
    expected = plain_log_likelihood(MIXED, shape, scale)
    assert log_likelihood(tally_rows(MIXED), shape, scale) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("prior", [PRIOR, WeibullPrior.flat()])
@pytest.mark.parametrize("point", POINTS)
def test_value_of_the_slope_is_the_grid_of_one_point(prior, point):
    tally, other = tally_rows(MIXED), (0.6, 1.2)
    grid = [
        log_posterior_grid(tally, prior, np.array([p[0]]), np.array([[p[1]]]))[0, 0] for p in (point, other)
    ]
    values = [slope(tally, prior, np.array(p)).value for p in (point, other)]
    assert values[0] - values[1] == pytest.approx(grid[0] - grid[1], rel=1e-11)


def differences(function, point, step=1e-5):
    """Central differences of a function of two numbers, along a new last axis."""
    nudges = step * np.eye(2)
    sides = [(function(point + nudge) - function(point - nudge)) / (2 * step) for nudge in nudges]
    return np.stack(sides, axis=-1)


@pytest.mark.parametrize("prior", [PRIOR, WeibullPrior.flat()])
@pytest.mark.parametrize("point", POINTS)
def test_gradient_and_hessian_agree_with_finite_differences(prior, point):
    tally, point = tally_rows(MIXED), np.array(point)
    here = slope(tally, prior, point)
    assert here.gradient == pytest.approx(
        differences(lambda p: slope(tally, prior, p).value, point), rel=1e-6, abs=1e-6
    )
    expected = differences(lambda p: slope(tally, prior, p).gradient, point)
    assert here.hessian == pytest.approx(expected, rel=1e-6, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(
    lower=st.floats(0, 20),
    width=st.floats(1e-3, 20),
    late=st.floats(0, 1),
    log_shape=st.floats(-1, 1.8),
    log_age=st.floats(0, 3),
)
def test_slopes_of_any_interval_row_agree_with_finite_differences(lower, width, late, log_shape, log_age):
    rows = LifeRows([lower], [lower + width], [late * lower])
    tally, point = tally_rows(rows), np.array([log_shape, log_age])
    here = slope(tally, PRIOR, point)
    size = 1 + np.abs(here.hessian).max()
    values = differences(lambda p: slope(tally, PRIOR, p).value, point)
    gradients = differences(lambda p: slope(tally, PRIOR, p).gradient, point)
    assert here.gradient == pytest.approx(values, rel=1e-5, abs=1e-7 * size)
    assert here.hessian == pytest.approx(gradients, rel=1e-5, abs=1e-7 * size)


def test_a_narrow_interval_tends_to_the_density_times_its_width():
    width = 1e-6
    narrow = log_likelihood(tally_rows(LifeRows([4], [4 + width])), 2.0, 8.0)
    exact = log_likelihood(tally_rows(LifeRows([4], [4])), 2.0, 8.0)
    assert narrow == pytest.approx(exact + math.log(width), abs=1e-6)


def test_a_wide_interval_tends_to_the_right_censored_row():
    wide = log_likelihood(tally_rows(LifeRows([4], [1e9])), 2.0, 8.0)
    assert wide == pytest.approx(log_likelihood(tally_rows(LifeRows([4], [INF])), 2.0, 8.0), rel=1e-12)


@pytest.mark.parametrize("rows", [LifeRows([1], [1]), LifeRows([1], [INF]), LifeRows([1], [2])])
@pytest.mark.parametrize("point", [(4.0, -20.0), (4.0, 20.0), (-5.0, 0.0), (2.0, -300.0)])
def test_stays_a_number_far_out(rows, point):
    here = slope(tally_rows(rows), PRIOR, np.array(point))
    assert np.isfinite([here.value, *here.gradient, *here.hessian.ravel()]).all()


def test_tally_collapses_equal_rows_and_rounds_nothing():
    tally = tally_rows(LifeRows([3, 3, 3 + 1e-12, 2], [3, 3, INF, 5], count=[1, 2, 1, 4]))
    assert np.exp(tally.log_age) == pytest.approx([2, 3, 3 + 1e-12], rel=1e-15)
    assert len(tally.log_age) == 3
    assert (tally.failures, tally.pairs.tolist()) == (3, [4])
    assert tally.log_age_sum == pytest.approx(3 * math.log(3))


def test_tally_counts_exits_plus_and_entries_minus():
    tally = tally_rows(LifeRows([3, 5], [3, INF], [1, 3]))
    assert dict(zip(np.exp(tally.log_age).round(9), tally.weight, strict=True)) == {1: -1, 3: 0, 5: 1}


def test_no_rows_have_no_likelihood_to_speak_of():
    assert log_likelihood(tally_rows(LifeRows.none()), 2.0, 8.0) == 0
