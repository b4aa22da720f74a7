"""Lives against closed forms: quantiles, conditional chances, and the posterior when the shape is known.

Means are held to 1e-6 or 1e-4. Quantiles are averages over a narrow window of probability (``arrays.WINDOW``), which
costs at most a thousandth or two of their value.
"""

import numpy as np
import pytest
from scipy import stats

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.weibull import added_hazard, cumulative_hazard, failure_probability, log_log, survival

FAILED, WHOLE = [400.0, 600.0, 900.0], [1000.0, 1000.0]


def all_but_certain(shape, scale):
    """A life with no doubt left in it, so that its answers are those of one shape and scale."""
    early_age = scale * (-np.log(0.9)) ** (1 / shape)
    return fit_life(LifeRows.none(), WeibullPrior(np.log(shape), 1e-7, np.log(early_age), 1e-7))


def fixed_shape_life(failed, whole, shape=2.0, count=None):
    upper = [*failed, *(np.inf for _ in whole)]
    return fit_life(LifeRows([*failed, *whole], upper, count=count), WeibullPrior.flat(shape=shape))


@pytest.mark.parametrize(
    ("shape", "scale", "fraction", "age"),
    [
        (2, 10_000, 0.01, 1002.51363350),
        (2, 10_000, 0.10, 3245.92845975),
        (2, 10_000, 0.50, 8325.54611158),
        (3, 10, 0.10, 4.72308719),
    ],
)
def test_quantiles_of_a_known_life(shape, scale, fraction, age):
    # Closed form t_p = scale * (-log(1 - p)) ** (1 / shape).
    found = all_but_certain(shape, scale).quantile(fraction)
    assert found.age == pytest.approx(age, rel=1e-6)
    assert found.lower <= found.age <= found.upper


def test_survival_of_a_known_life():
    # Closed form R(8000) = exp(-0.64).
    assert all_but_certain(2, 10_000).survival(8000) == pytest.approx(0.5272924240, abs=1e-7)


@pytest.mark.parametrize(
    ("shape", "scale", "age", "chance"),
    [
        (2, 10, 5, 0.104165864703),
        (3, 7, 7, 0.389032412966),
        (0.5, 10, 5, 0.065262827421),
        (1, 10, 5, 0.095162581964),
    ],
)
def test_chance_of_failing_within_one_given_survival(shape, scale, age, chance):
    # Closed form 1 - exp(H(age) - H(age + 1)), checked with scipy.
    exact = failure_probability(np.array(age), np.array(1.0), np.array(shape), np.log(scale))
    assert exact == pytest.approx(chance, abs=1e-12)
    assert all_but_certain(shape, scale).failure_probability(age, 1) == pytest.approx(chance, rel=1e-6)


def test_mean_of_a_life_is_the_gamma_function_of_its_shape():
    # Closed form MTTF = scale * Gamma(1 + 1 / shape) = 8862.26925453 for shape 2, scale 10,000.
    ages = np.linspace(0, 80_000, 400_001)
    area = np.trapezoid(survival(ages, np.array(2.0), np.array(np.log(10_000))), ages)
    assert area == pytest.approx(8862.26925453, rel=1e-8)


@pytest.mark.parametrize(("age", "left"), [(0, 8.8622692545), (5, 5.4564136077), (10, 3.7893607807)])
def test_mean_residual_life_is_the_area_under_conditional_survival(age, left):
    # Closed form by the incomplete gamma function (scipy), shape 2, scale 10.
    horizon = np.linspace(0, 90, 200_001)
    lasting = 1 - failure_probability(np.float64(age), horizon, np.array(2.0), np.array(np.log(10)))
    assert np.trapezoid(lasting, horizon) == pytest.approx(left, rel=1e-7)


@pytest.mark.parametrize("shape", [0.3, 0.8, 1.0, 2.5, 8.0])
def test_arithmetic_agrees_with_scipy(shape):
    scale, age, horizon = 12.0, np.array([0.0, 0.01, 3.0, 11.0, 30.0]), np.array([0.5, 4.0, 1.0, 1e-6, 2.0])
    theirs = stats.weibull_min(shape, scale=scale)
    b, log_scale = np.array(shape), np.array(np.log(scale))
    with np.errstate(divide="ignore"):
        log_age = np.log(age)
    # scipy is believed in logs: its own survival underflows, and its differences cancel.
    gap = theirs.logsf(age) - theirs.logsf(age + horizon)
    assert cumulative_hazard(log_age, b, log_scale) == pytest.approx(-theirs.logsf(age), rel=1e-12)
    assert survival(age, b, log_scale) == pytest.approx(theirs.sf(age), rel=1e-11)
    assert added_hazard(age, horizon, b, log_scale) == pytest.approx(gap, rel=1e-7)
    assert failure_probability(age, horizon, b, log_scale) == pytest.approx(-np.expm1(-gap), rel=1e-7)


@pytest.mark.parametrize("probability", [1e-9, 0.02, 0.1, 0.5, 0.999])
def test_log_log_agrees_with_the_unit_weibull_quantile_of_scipy(probability):
    assert log_log(probability) == pytest.approx(np.log(stats.weibull_min(1).ppf(probability)), rel=1e-9)


def gamma_posterior(failures, exposure):
    """With the shape known and the age flat, scale**-shape is Gamma(failures, sum of count * t**shape)."""
    return stats.gamma(failures, scale=1 / exposure)


def test_known_shape_gives_the_gamma_posterior():
    # Oracle: Gamma(0, 0) on scale**-2; failures 3, exposure 0.16e6 + 0.36e6 + 0.81e6 + 2e6.
    life, rate = fixed_shape_life(FAILED, WHOLE), gamma_posterior(3, 3.33e6)
    horizon = np.array([10.0, 200.0, 500.0, 1000.0, 3000.0])
    expected = 1 - (3.33e6 / (3.33e6 + horizon**2)) ** 3
    assert life.failure_probability(0, horizon) == pytest.approx(expected, abs=1e-6)
    low, high = life.failure_interval(0, horizon)
    ends = -np.expm1(-np.outer(rate.ppf([0.05, 0.95]), horizon**2))
    assert np.stack([low, high]) == pytest.approx(ends, abs=1e-3)


def test_known_shape_gives_the_gamma_posterior_of_an_early_quantile():
    life, rate = fixed_shape_life(FAILED, WHOLE), gamma_posterior(3, 3.33e6)
    lower, age, upper = np.sqrt(-np.log(0.9) / rate.ppf([0.95, 0.5, 0.05]))
    found = life.quantile(0.1)
    assert (found.lower, found.age, found.upper) == pytest.approx((lower, age, upper), rel=2e-3)


def with_three_failures_for_the_prior():
    """The worked prior Gamma(3, 2 * 1000**2) as rows: three failures whose squares add to 2 * 1000**2."""
    told = (2 * 1000**2 / 3) ** 0.5
    return fixed_shape_life([*FAILED, told], WHOLE, count=[1, 1, 1, 3, 1, 1])


def test_worked_example_with_a_prior_told_as_rows():
    # Closed form: posterior a 6, b 5,330,000; mean of scale**2, predictive F(500), 5/50/95 % of the 10 % age.
    life = with_three_failures_for_the_prior()
    assert life.failure_probability(0, 500) == pytest.approx(0.2404470400, abs=1e-6)
    found = life.quantile(0.1)
    wanted = (231.1205, 314.7059, 463.5874)
    assert (found.lower, found.age, found.upper) == pytest.approx(wanted, rel=1e-3)
    mean_square = np.exp(2 * life.nodes.log_scale) @ life.nodes.weight
    assert mean_square == pytest.approx(1_066_000, rel=1e-4)


FRACTION_BY_SCALE = 1 - np.exp(-1)


@pytest.mark.parametrize(("level", "bound"), [(0.9, 1827.041873), (1 - 2 * np.exp(-1), 3162.277660)])
def test_lower_bound_of_ten_survivors_is_that_of_the_first_failure_being_due(level, bound):
    # Abernethy's handbook: 10 units whole at 1,000 h, shape 2; bounds on the scale at 95 % and 63.21 %.
    # That bound is a posterior only when the first failure is taken as due now, so nine whole and one failed
    # at 1,000 h is what is compared. Ten whole alone, at a flat prior, have no posterior and are refused.
    life = fixed_shape_life([1000], [1000], count=[1, 9])
    assert life.quantile(FRACTION_BY_SCALE, level).lower == pytest.approx(bound, rel=2e-3)


def test_ten_survivors_alone_at_a_flat_prior_are_refused():
    from riskmodel.errors import ParameterError

    with pytest.raises(ParameterError, match="flat prior needs at least one failure, got 0 failures"):
        fixed_shape_life([], [1000], count=[10])


@pytest.mark.parametrize("failures", [1, 2, 5, 30])
@pytest.mark.parametrize("shape", [0.8, 1.0, 3.0])
def test_oracle_holds_for_few_failures_and_many_and_for_any_shape(failures, shape):
    life = fixed_shape_life([10.0], [12.0], shape=shape, count=[failures, 7])
    exposure = failures * 10.0**shape + 7 * 12.0**shape
    horizon = np.array([0.5, 2.0, 6.0, 15.0])
    expected = -np.expm1(failures * np.log(exposure / (exposure + horizon**shape)))
    assert life.failure_probability(0, horizon) == pytest.approx(expected, abs=1e-4)
    assert life.nodes.settled
