"""The life a fit returns: chances, intervals, quantiles, and the laws they obey whatever the rows."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life

INF = np.inf
PRIOR = WeibullPrior.from_interval(5)
FEW = LifeRows([4, 6, 9, 3, 0, 7], [4, 6, INF, INF, 5, 9], [0, 2, 0, 1, 0, 3])
LIFE = fit_life(FEW, PRIOR)
UNTOUCHED = fit_life(LifeRows.none(), PRIOR)


@st.composite
def any_life(draw):
    """A life fitted to up to six rows of every kind under a prior from any plausible interval."""
    number = draw(st.integers(0, 6))
    lower, upper, entry = [], [], []
    for _ in range(number):
        low = draw(st.floats(0.02, 60))
        kind = draw(st.sampled_from("eirl"))
        upper.append({"e": low, "i": low + draw(st.floats(0.02, 20)), "r": INF, "l": low}[kind])
        lower.append(0.0 if kind == "l" else low)
        entry.append(draw(st.floats(0, 0.9)) * low)
    count = draw(st.lists(st.sampled_from([1, 1, 2, 50]), min_size=number, max_size=number))
    prior = WeibullPrior.from_interval(
        draw(st.floats(0.5, 20)), shape=draw(st.sampled_from([0.8, 1, 2.5, 3]))
    )
    return fit_life(LifeRows(lower, upper, entry, count), prior)


@settings(max_examples=40, deadline=None)
@given(life=any_life(), age=st.floats(0, 1e4), horizon=st.floats(0, 1e4), more=st.floats(0, 1e4))
def test_chances_lie_in_nought_to_one_and_never_fall_with_a_longer_horizon(life, age, horizon, more):
    chance, longer = life.failure_probability(age, [horizon, horizon + more])
    assert 0 <= chance <= longer <= 1


@settings(max_examples=40, deadline=None)
@given(life=any_life(), age=st.floats(0, 50), horizon=st.floats(0.01, 20))
def test_intervals_lie_in_nought_to_one_and_widen_with_their_level(life, age, horizon):
    outer, inner = life.failure_interval(age, horizon, 0.99), life.failure_interval(age, horizon, 0.5)
    assert 0 <= outer[0] <= inner[0] <= inner[1] <= outer[1] <= 1


@pytest.mark.parametrize("life", [LIFE, UNTOUCHED], ids=["few rows", "no rows"])
def test_the_mean_chance_lies_inside_its_interval(life):
    age, horizon = np.meshgrid([0, 1, 5, 12, 30.0], [0.5, 1, 5])
    low, high = life.failure_interval(age, horizon, 0.8)
    mean = life.failure_probability(age, horizon)
    assert ((low < mean) & (mean < high)).all()


@settings(max_examples=40, deadline=None)
@given(life=any_life())
def test_survival_and_its_band_stay_in_nought_to_one_and_fall_with_age(life):
    ages = np.concatenate([[0.0], np.geomspace(1e-3, 1e4, 60)])
    lower, upper = life.survival_interval(ages, 0.95)
    for curve in (life.survival(ages), lower, upper):
        assert ((curve >= 0) & (curve <= 1)).all()
        assert (np.diff(curve) <= 1e-12).all()
    assert (lower <= upper).all()
    assert life.survival(0) == pytest.approx(1)


@settings(max_examples=30, deadline=None)
@given(life=any_life(), age=st.floats(0, 30), first=st.floats(0.01, 10), then=st.floats(0.01, 10))
def test_chances_of_one_node_multiply_along_the_way(life, age, first, then):
    # Whole through both spans is whole through the first and, given that, the second: exact for each node.
    node = fit_life(LifeRows.none(), WeibullPrior(life.prior.log_shape, 1e-7, life.prior.log_age, 1e-7))
    both = node.failure_probability(age, first + then)
    parts = 1 - (1 - node.failure_probability(age, first)) * (1 - node.failure_probability(age + first, then))
    assert both == pytest.approx(parts, rel=1e-5, abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(extra=st.floats(0.5, 30))
def test_one_more_survivor_never_raises_the_chance_of_a_new_part(extra):
    more = LifeRows([*FEW.lower, extra], [*FEW.upper, INF], [*FEW.entry, 0])
    assert fit_life(more, PRIOR).failure_probability(0, 5) <= LIFE.failure_probability(0, 5) + 1e-9


def scaled(rows, factor):
    return LifeRows(rows.lower * factor, rows.upper * factor, rows.entry * factor, rows.count)


@pytest.mark.parametrize(
    "factor",
    [12.0, 365.25, 365.25 * 24, 365.25 * 86_400, 1e-6],
    ids=["months", "days", "hours", "seconds", "1e-6"],
)
@pytest.mark.parametrize("rows", [FEW, LifeRows.none()], ids=["few rows", "no rows"])
def test_the_unit_of_time_changes_nothing(factor, rows):
    life, other = (
        fit_life(rows, PRIOR),
        fit_life(scaled(rows, factor), WeibullPrior.from_interval(5 * factor)),
    )
    age, horizon = np.array([0, 2.0, 7, 20]), np.array([1, 1.0, 2, 5])
    assert other.failure_probability(age * factor, horizon * factor) == pytest.approx(
        life.failure_probability(age, horizon), rel=1e-8
    )
    assert np.stack(other.failure_interval(age * factor, horizon * factor)) == pytest.approx(
        np.stack(life.failure_interval(age, horizon)), rel=1e-8
    )
    assert other.mode == pytest.approx((life.mode[0], life.mode[1] * factor), rel=1e-8)
    assert other.quantile(0.1).age == pytest.approx(life.quantile(0.1).age * factor, rel=1e-8)
    assert other.shift == pytest.approx(life.shift, abs=1e-8)


def test_the_unit_changes_nothing_at_a_flat_prior():
    life, other = (fit_life(scaled(FEW, factor), WeibullPrior.flat()) for factor in (1.0, 1e8))
    assert other.mode == pytest.approx((life.mode[0], life.mode[1] * 1e8), rel=1e-8)
    assert other.failure_probability(2e8, 1e8) == pytest.approx(life.failure_probability(2, 1), rel=1e-8)


def test_answers_have_the_broadcast_shape():
    assert LIFE.failure_probability(3, 1).shape == ()
    assert LIFE.failure_probability([1, 2, 3], 1).shape == (3,)
    assert LIFE.failure_probability([[1], [2]], [1, 2, 3]).shape == (2, 3)
    low, high = LIFE.failure_interval([[1], [2]], [1, 2, 3])
    assert low.shape == high.shape == (2, 3)
    assert LIFE.quantile([0.1, 0.5]).age.shape == (2,)


def test_many_items_are_predicted_as_each_alone():
    ages = np.linspace(0, 40, 10_001)
    together = LIFE.failure_probability(ages, 1)
    assert together[[0, 4095, 4096, 10_000]] == pytest.approx(
        [float(LIFE.failure_probability(ages[i], 1)) for i in (0, 4095, 4096, 10_000)]
    )


def test_no_horizon_has_no_chance():
    assert LIFE.failure_probability([0, 5, 1e6], 0) == pytest.approx([0, 0, 0])


def test_no_failures_give_a_sane_and_finite_interval():
    life = fit_life(LifeRows([8], [INF], count=[50]), PRIOR)
    low, high = life.failure_interval(8, 1)
    assert 0 < low < life.failure_probability(8, 1) < high < 0.2
    found = life.quantile([0.1, 0.5])
    assert np.isfinite([found.lower, found.age, found.upper]).all()
    assert (found.age > UNTOUCHED.quantile([0.1, 0.5]).age).all()


def test_survivors_lengthen_and_early_failures_shorten_a_life():
    survivors = fit_life(LifeRows([10], [INF], count=[20]), PRIOR)
    failures = fit_life(LifeRows([2, 3], [2, 3]), PRIOR)
    ages = [life.quantile(0.1).age for life in (failures, UNTOUCHED, survivors)]
    assert ages == sorted(ages)
    assert survivors.shift[1] > 0 > failures.shift[1]


def test_interval_holds_the_median_chance_and_narrows_with_data():
    age = 12 * np.random.default_rng(1).weibull(2.5, 800)
    many = fit_life(LifeRows(age, age), PRIOR)
    width = [np.diff(life.failure_interval(5, 2), axis=0).item() for life in (UNTOUCHED, LIFE, many)]
    assert width[0] > width[1] > width[2] > 0


def test_conflict_is_flagged_past_three_prior_spreads_and_not_before():
    agree = fit_life(LifeRows([8, 10, 12, 14], [8, 10, 12, 14]), PRIOR)
    against = fit_life(LifeRows([60], [INF], count=[300]), PRIOR)
    assert not agree.conflict
    assert not UNTOUCHED.conflict
    assert against.conflict
    assert max(map(abs, against.shift)) > 3 > max(map(abs, agree.shift))


def test_shift_is_measured_in_prior_spreads():
    nodes = LIFE.nodes
    assert LIFE.shift[0] == pytest.approx((nodes.weight @ nodes.log_shape - math.log(2.5)) / 0.3)
    assert LIFE.shift[1] == pytest.approx((nodes.weight @ nodes.log_age - math.log(5)) / PRIOR.log_age_sd)


def test_a_flat_or_fixed_axis_has_no_shift():
    assert fit_life(FEW, WeibullPrior.flat()).shift == (0, 0)
    assert not fit_life(FEW, WeibullPrior.flat()).conflict
    assert fit_life(FEW, WeibullPrior(math.log(2), 0, math.log(5), 0.4)).shift[0] == 0


def test_same_rows_give_the_same_bytes():
    again = fit_life(FEW, PRIOR)
    assert again.nodes.weight.tobytes() == LIFE.nodes.weight.tobytes()
    assert again.failure_probability(3, 1).tobytes() == LIFE.failure_probability(3, 1).tobytes()


@pytest.mark.parametrize("bad", [-1, math.nan, INF])
def test_impossible_ages_and_horizons_are_refused(bad):
    with pytest.raises(ParameterError, match="age must be 0 or more and finite, got"):
        LIFE.failure_probability([1, bad], 1)
    with pytest.raises(ParameterError, match="horizon must be 0 or more and finite, got"):
        LIFE.failure_interval(1, bad)
    with pytest.raises(
        ParameterError, match=f"age must be 0 or more and finite, got {float(bad)} at position 1"
    ):
        LIFE.survival([1, bad])


@pytest.mark.parametrize("bad", [0, 1, -0.1, 1.5, math.nan])
def test_impossible_fractions_and_levels_are_refused(bad):
    with pytest.raises(ParameterError, match="probability must lie between 0 and 1, got"):
        LIFE.quantile(bad)
    with pytest.raises(ParameterError, match="level must lie between 0 and 1, got"):
        LIFE.failure_interval(1, 1, bad)
    with pytest.raises(ParameterError, match="level must lie between 0 and 1, got"):
        LIFE.quantile(0.1, bad)
