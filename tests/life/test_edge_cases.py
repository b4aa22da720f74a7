"""Inputs on which fitters go wrong, each with the answer it must get.

Not yet applicable, because what they are about is not built yet: covariates (T40 to T42, T45, T46), scores of
forecasts (T49 to T52), proportional hazards (T53), competing causes in the manner of Aalen and Johansen (T35).
"""

import datetime
import math
import re
import time

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life, rows_from_durations
from riskmodel.life.weibull import failure_probability

INF = np.inf
PRIOR = WeibullPrior.from_interval(5)
LONG = WeibullPrior.from_interval(10_000)


def assert_finite(life, age=3.0):
    low, high = life.failure_interval(age, 1)
    found = life.quantile([0.1, 0.5])
    numbers = [
        *life.mode,
        life.failure_probability(age, 1),
        low,
        high,
        *found.age,
        *found.lower,
        *found.upper,
    ]
    assert np.isfinite(numbers).all()
    assert 0 <= low <= life.failure_probability(age, 1) <= high <= 1


def survivors_and_failures(failed, whole, count=None):
    return LifeRows([*failed, *whole], [*failed, *(INF for _ in whole)], count=count)


def test_t01_no_failures_move_the_prior_by_survival_alone():
    life = fit_life(survivors_and_failures([], np.repeat(np.arange(1.0, 9), 3)), PRIOR)
    assert_finite(life)
    assert life.shift[1] > 0
    assert life.failure_probability(5, 1) < fit_life(LifeRows.none(), PRIOR).failure_probability(5, 1)


def test_t02_one_failure_among_five_late_lives_is_finite():
    assert_finite(fit_life(survivors_and_failures([13760], [13467, 12011, 7798, 7928]), LONG), 5000)


def test_t03_one_failure_and_nothing_else_is_finite():
    assert_finite(fit_life(LifeRows([4], [4]), PRIOR))


def test_t04_two_identical_failures_do_not_run_away_to_an_endless_shape():
    life = fit_life(LifeRows([7, 7], [7, 7]), WeibullPrior.from_interval(5))
    assert_finite(life)
    assert 2.4 < life.mode[0] < 3.6


def test_t05_everything_at_one_age_is_finite():
    life = fit_life(survivors_and_failures([5.0], [5.0], count=[5, 20]), PRIOR)
    assert_finite(life)
    # 5 of 25 at the end of watching: a fifth, pulled a little to the prior's tenth.
    assert 0.08 < life.failure_probability(0, 5) < 0.25


def test_t06_a_failure_at_age_nought_is_refused_and_its_interval_accepted():
    with pytest.raises(
        ParameterError, match=r"row 2: lower a failure at age 0 has no date: give the interval"
    ):
        LifeRows([3, 0], [3, 0])
    assert_finite(fit_life(LifeRows([0], [1 / 365.25]), PRIOR))


def test_t07_a_negative_age_is_refused_with_its_row_and_column():
    with pytest.raises(ParameterError, match="row 2: lower must be a finite age of 0 or more, got -3"):
        LifeRows([3, -3], [3, INF])


def test_t08_a_missing_duration_is_refused():
    with pytest.raises(ParameterError, match="row 1: lower must be a finite age of 0 or more, got nan"):
        rows_from_durations([math.nan, 2], ["yes", "no"])


def test_t09_an_endless_duration_is_no_failure():
    with pytest.raises(ParameterError, match="row 1: lower must be a finite age of 0 or more, got inf"):
        rows_from_durations([INF], ["yes"])


@pytest.mark.parametrize("factor", [1e8, 1e-6], ids=["t10", "t11"])
def test_t10_t11_seconds_and_millionths_give_the_same_answer(factor):
    age = 12 * np.random.default_rng(10).weibull(2.5, 60)
    failed = age < 14
    plain = LifeRows(np.minimum(age, 14), np.where(failed, age, INF))
    other = LifeRows(plain.lower * factor, plain.upper * factor)
    for prior, scaled in (
        (WeibullPrior.flat(), WeibullPrior.flat()),
        (PRIOR, WeibullPrior.from_interval(5 * factor)),
    ):
        life, same = fit_life(plain, prior), fit_life(other, scaled)
        assert same.mode == pytest.approx((life.mode[0], life.mode[1] * factor), rel=1e-8)
        chance = same.failure_probability(5 * factor, factor)
        assert chance == pytest.approx(life.failure_probability(5, 1), rel=1e-8)


def test_t12_279_failures_in_31705_take_a_fifth_of_a_second():
    rng = np.random.default_rng(12)
    failed, whole = np.round(rng.uniform(0.1, 9, 279), 2), np.round(rng.uniform(0.1, 9, 31_426), 2)
    rows = survivors_and_failures(failed, whole)
    fit_life(rows, PRIOR)
    begun = time.perf_counter()
    life = fit_life(rows, PRIOR)
    assert time.perf_counter() - begun < 0.2
    assert (life.rows.failures, life.rows.survivors) == (279, 31_426)
    assert_finite(life)


def test_t13_a_wild_failure_is_finite_and_flagged():
    life = fit_life(survivors_and_failures([1, 1.1, 1.2, 1e6], [2], count=[1, 1, 1, 1, 3]), PRIOR)
    assert_finite(life)
    assert life.conflict


def test_t14_one_early_failure_against_two_hundred_late_survivors_is_flagged():
    life = fit_life(survivors_and_failures([1.0], [100.0], count=[1, 200]), PRIOR)
    assert_finite(life)
    assert life.conflict


def test_t15_the_oldest_unit_as_the_only_failure_is_finite():
    assert_finite(fit_life(survivors_and_failures([12.0], np.arange(1.0, 12)), PRIOR))


def test_t17_wide_intervals_that_touch_agree_with_lifelines_at_a_flat_prior():
    from lifelines import WeibullFitter

    lower, upper = np.array([1, 10, 100.0]), np.array([10, 100, 1000.0])
    life = fit_life(LifeRows(lower, upper), WeibullPrior.flat())
    fitter = WeibullFitter().fit_interval_censoring(lower, upper)
    assert life.mode == pytest.approx((fitter.rho_, fitter.lambda_), rel=1e-3)


def test_t18_one_interval_is_finite():
    assert_finite(fit_life(LifeRows([1], [10]), PRIOR))


def test_t19_left_and_right_censored_rows_mix():
    life = fit_life(LifeRows([0, 5, 0, 8], [6, INF, 9, INF]), PRIOR)
    assert_finite(life)
    assert (life.rows.failures, life.rows.survivors) == (2, 2)


def test_t20_an_interval_that_runs_backwards_is_refused():
    with pytest.raises(ParameterError, match="row 1: lower must not be above upper, got 5"):
        LifeRows([5], [4])


def test_t21_an_interval_after_entry_is_accepted():
    assert_finite(fit_life(LifeRows([6, 4], [8, 8], [4, 4]), PRIOR))


def test_t22_no_exposure_is_dropped_with_a_count_and_refused_for_a_failure():
    with pytest.warns(UserWarning, match="1 rows without exposure left out"):
        assert len(LifeRows([4, 5], [INF, INF], [4, 0])) == 1
    with pytest.raises(
        ParameterError, match="row 1: entry must lie below the age at failure: no time was watched"
    ):
        LifeRows([4], [4], [4])


def test_t23_entry_after_the_end_is_refused():
    with pytest.raises(ParameterError, match="row 1: entry must not be above the age last seen, got 6"):
        LifeRows([5], [INF], [6])
    with pytest.raises(ParameterError, match="row 1: entry must lie below the age at failure"):
        LifeRows([5], [5], [6])


def test_t24_failures_just_after_late_entry_do_not_run_away():
    life = fit_life(LifeRows([10.1, 10.2, 10.3], [10.1, 10.2, 10.3], [10, 10, 10]), PRIOR)
    assert_finite(life)
    assert 2.0 < life.mode[0] < 4.0
    assert fit_life(life.rows, WeibullPrior.from_interval(5, shape_log_sd=0.15)).mode[0] < 3.0


def test_t25_left_censored_with_late_entry_starts_at_entry():
    rows = LifeRows([0], [6], [5])
    assert (rows.lower.item(), rows.upper.item()) == (5, 6)
    assert_finite(fit_life(rows, PRIOR))


def test_t29_yes_and_no_are_read_by_an_explicit_mapping():
    assert np.isfinite(rows_from_durations([3, 4], ["yes", "no"]).upper).tolist() == [True, False]


def test_t30_half_an_event_is_refused():
    with pytest.raises(ParameterError, match=re.escape("row 1: failed must be yes or no (1 or 0), got 0.5")):
        rows_from_durations([3], [0.5])


def test_t31_time_spans_are_converted_with_a_stated_unit_and_refused_without():
    spans = np.array([datetime.timedelta(days=1461)], dtype="timedelta64[s]")
    assert rows_from_durations(spans, ["yes"], unit="days").lower == pytest.approx(1461)
    with pytest.raises(ParameterError, match="is a time span without a unit"):
        LifeRows(spans, spans)


def test_t32_numbers_written_as_text_are_accepted():
    assert rows_from_durations(["1", "2"], ["1", "0"]).lower.tolist() == [1, 2]


def test_t33_a_negative_count_is_refused():
    with pytest.raises(ParameterError, match="row 1: count must be a finite number of 0 or more, got -1"):
        LifeRows([3], [3], count=[-1])


def test_t34_a_count_of_nought_is_the_row_removed():
    with_row = fit_life(LifeRows([3, 9, 5], [3, INF, 5], count=[1, 0, 2]), PRIOR)
    without = fit_life(LifeRows([3, 5], [3, 5], count=[1, 2]), PRIOR)
    assert with_row.nodes.weight.tobytes() == without.nodes.weight.tobytes()


def test_t44_a_class_of_one_unit_stays_with_its_prior():
    life = fit_life(LifeRows([6], [INF]), PRIOR)
    assert_finite(life)
    assert max(map(abs, life.shift)) < 1


@pytest.mark.parametrize("age", [30.0, 300.0, 3000.0])
def test_t47_chances_are_exact_where_survival_has_underflowed(age):
    # H(300) is 4,900 at shape 2.5 and scale 10: survival is 0 to the last bit, the chance is not 0/0.
    shape, log_scale = np.array(2.5), np.array(math.log(10))
    chance = failure_probability(np.float64(age), np.float64(1e-6), shape, log_scale)
    assert chance == pytest.approx(1e-6 * 0.25 * (age / 10) ** 1.5, rel=1e-3)
    assert fit_life(LifeRows.none(), PRIOR).failure_probability(age, age) == pytest.approx(1, abs=0.02)


def test_t48_the_band_of_survival_is_monotone_and_inside_nought_to_one():
    for rows in (LifeRows.none(), LifeRows([4], [4]), LifeRows([8], [INF], count=[50])):
        for bound in fit_life(rows, PRIOR).survival_interval(np.linspace(0, 80, 400), 0.95):
            assert ((bound >= 0) & (bound <= 1)).all()
            assert (np.diff(bound) <= 1e-12).all()


def test_t54_a_unit_counted_twice_is_a_different_answer_so_each_counts_once():
    # The library's own rule: its row is in the data, so prediction from its age asks the weights as they stand.
    once = fit_life(LifeRows([9], [INF]), PRIOR)
    twice = fit_life(LifeRows([9], [INF], count=[2]), PRIOR)
    weight = once.nodes.weight
    shape, log_scale = np.exp(once.nodes.log_shape), once.nodes.log_scale
    by_hand = weight @ failure_probability(np.float64(9), np.float64(1), shape, log_scale)
    assert once.failure_probability(9, 1) == pytest.approx(by_hand, rel=1e-12)
    assert twice.failure_probability(9, 1) < once.failure_probability(9, 1)
