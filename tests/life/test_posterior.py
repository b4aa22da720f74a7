"""The moving grid: its mode, its weights, where it stands, and what it refuses."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.likelihood import log_posterior_grid, slope
from riskmodel.life.posterior import find_mode, posterior
from riskmodel.life.tally import tally_rows
from riskmodel.life.weibull import failure_probability

INF = np.inf
PRIOR = WeibullPrior.from_interval(5)


def simulated(number, shape=2.5, scale=12.0, end=15.0, seed=3):
    age = scale * np.random.default_rng(seed).weibull(shape, number)
    return LifeRows(np.minimum(age, end), np.where(age < end, age, INF))


FEW = LifeRows([4, 6, 9, 3, 0, 7], [4, 6, INF, INF, 5, 9], [0, 2, 0, 1, 0, 3])
CASES = {
    "no rows": (LifeRows.none(), PRIOR),
    "few rows": (FEW, PRIOR),
    "survivors": (LifeRows([8, 12], [INF, INF], count=[40, 9]), PRIOR),
    "many rows": (simulated(2000), PRIOR),
    "early failures": (
        LifeRows([0.1, 0.2, 0.5, 6], [0.1, 0.2, 0.5, INF]),
        WeibullPrior.from_interval(3, shape=0.8),
    ),
    "fixed shape": (FEW, WeibullPrior(math.log(2), 0.0, math.log(5), 0.4)),
}


@pytest.mark.parametrize("case", CASES)
def test_the_mode_is_where_an_optimiser_of_scipy_finds_it(case):
    rows, prior = CASES[case]
    tally = tally_rows(rows)
    mode, here = find_mode(tally, prior)
    free = [1] if prior.log_shape_sd == 0 else [0, 1]
    assert np.abs(here.gradient[free]).max() < 1e-6

    def height(values):
        point = mode.copy()
        point[free] = values
        return -slope(tally, prior, point).value

    found = minimize(height, mode[free] + 0.1, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10})
    assert found.x == pytest.approx(mode[free], abs=1e-4)


def dense_chance(rows, prior, age, horizon):
    """Posterior mean by brute force on a wide fixed grid of 600 x 600 nodes."""
    fitted = posterior(tally_rows(rows), prior)
    sides = [
        np.linspace(part.min() - 0.5 * np.ptp(part), part.max() + 0.5 * np.ptp(part), 600)
        for part in (fitted.log_shape, fitted.log_age)
    ]
    log_age = np.broadcast_to(sides[1], (600, 600))
    density = log_posterior_grid(tally_rows(rows), prior, sides[0], log_age)
    weight = np.exp(density - density.max())
    shape = np.exp(sides[0])[:, None]
    log_scale = log_age - math.log(-math.log1p(-prior.quantile)) / shape
    chance = failure_probability(np.float64(age), np.float64(horizon), shape, log_scale)
    return float((weight * chance).sum() / weight.sum())


@pytest.mark.parametrize("case", ["no rows", "few rows", "survivors", "many rows", "early failures"])
@pytest.mark.parametrize(("age", "horizon"), [(0, 5), (4, 1), (15, 1)])
def test_chances_agree_with_brute_force_on_a_dense_grid(case, age, horizon):
    found = fit_life(*CASES[case]).failure_probability(age, horizon)
    assert found == pytest.approx(dense_chance(*CASES[case], age, horizon), abs=1e-4)


@pytest.mark.parametrize("case", CASES)
def test_weights_add_to_one_and_no_mass_lies_on_the_rim(case):
    nodes = posterior(tally_rows(CASES[case][0]), CASES[case][1])
    assert nodes.weight.sum() == pytest.approx(1, abs=1e-12)
    assert (nodes.weight > 0).all()
    assert nodes.settled


def test_log_scale_belongs_to_its_shape_and_early_age():
    nodes = fit_life(FEW, PRIOR).nodes
    tenth = np.exp(nodes.log_scale) * (-np.log(0.9)) ** np.exp(-nodes.log_shape)
    assert tenth == pytest.approx(np.exp(nodes.log_age))


def test_no_rows_give_back_the_prior():
    nodes = fit_life(LifeRows.none(), PRIOR).nodes
    for values, mean, sd in (
        (nodes.log_shape, PRIOR.log_shape, PRIOR.log_shape_sd),
        (nodes.log_age, PRIOR.log_age, PRIOR.log_age_sd),
    ):
        assert nodes.weight @ values == pytest.approx(mean, abs=1e-8)
        assert nodes.weight @ (values - mean) ** 2 == pytest.approx(sd**2, rel=1e-6)


@pytest.mark.parametrize("number", [500, 5_000, 200_000])
def test_the_grid_moves_with_the_data_and_narrows(number):
    # A grid fixed on the prior would hold a single node of this posterior.
    nodes = fit_life(simulated(number), PRIOR).nodes
    mean = nodes.weight @ nodes.log_shape
    sd = math.sqrt(nodes.weight @ (nodes.log_shape - mean) ** 2)
    assert len(nodes.weight) > 500
    assert nodes.settled
    assert mean == pytest.approx(math.log(2.5), abs=4 * sd)
    assert sd == pytest.approx(0.85 / math.sqrt(number), rel=0.3)


def test_the_grid_finds_data_far_from_the_prior():
    life = fit_life(simulated(3000, scale=400.0, end=500.0), PRIOR)
    assert life.nodes.settled
    assert life.mode == pytest.approx((2.5, 400), rel=0.05)


def test_a_skew_posterior_is_recentred_once_its_rim_holds_mass():
    rows = LifeRows([4.0, 6.0, 30.0], [4.0, 6.0, INF], count=[1, 1, 40])
    life = fit_life(rows, WeibullPrior(math.log(2), 0.6, math.log(5), 1.5))
    assert life.nodes.settled


def test_a_fixed_shape_never_moves():
    nodes = posterior(tally_rows(FEW), WeibullPrior(math.log(1.7), 0.0, math.log(5), 0.4))
    assert np.exp(nodes.log_shape) == pytest.approx(1.7, rel=1e-15)


@pytest.mark.parametrize(
    "rows",
    [
        LifeRows.none(),
        LifeRows([5, 6], [INF, INF]),
        LifeRows([5], [5]),
        LifeRows([5], [5], count=[9]),
        LifeRows([1], [10]),
        LifeRows([1, 2], [10, 9]),
    ],
    ids=["nothing", "survivors", "one", "nine at one age", "one interval", "intervals that overlap"],
)
def test_a_flat_prior_with_too_little_data_is_refused(rows):
    with pytest.raises(ParameterError, match="flat prior needs at least two failures at different ages, got"):
        fit_life(rows, WeibullPrior.flat())


def test_a_flat_prior_on_life_alone_needs_one_failure():
    assert fit_life(LifeRows([5], [5]), WeibullPrior.flat(shape=2)).mode == pytest.approx((2, 5))
    with pytest.raises(ParameterError, match="flat prior needs at least one failure, got 0 failures"):
        fit_life(LifeRows([5], [INF]), WeibullPrior.flat(shape=2))


def test_a_mode_past_all_numbers_does_not_stop_the_fit():
    # A hundred thousand parts whole at a million years: a slip of unit, to be flagged and not to crash.
    life = fit_life(LifeRows([1.4e6], [INF], count=[100_000]), PRIOR)
    assert life.conflict
    assert life.failure_probability(5, 1) < 1e-3
    assert life.quantile(0.5).age > 1e6


def test_rows_beyond_what_a_grid_resolves_are_marked_unsettled_and_do_not_crash():
    life = fit_life(LifeRows([3.0], [3.0], count=[10_000]), PRIOR)
    assert not life.nodes.settled
    assert (life.failure_probability([0, 1, 2, 10], 1) >= 0).all()
