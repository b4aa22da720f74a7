"""Risks that share what nobody knows: mixtures over nodes, scalar factors, and the exponents that keep each mean."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.exposure import (
    annual_loss,
    continuous_mixture_loss,
    factor,
    factor_chances,
    lognormal_factor,
    lognormal_shared_loss,
    mixture_loss,
    mixture_of,
    node_chances,
    node_exponents,
    shared_factor_loss,
)
from riskmodel.exposure.nodes import scaled_chances

WEIGHT = np.array([0.2, 0.5, 0.3])


def nodes_for(chance, spread=1.8):
    """Chances (n, 3) at nodes whose average is ``chance``."""
    times = np.array([1 / spread, 1.0, spread])
    return node_chances(np.clip(chance[:, None] * times / (times @ WEIGHT), 0, 1), WEIGHT)


@pytest.mark.parametrize("outcomes", [1, 3])
@pytest.mark.parametrize("most", [0.04, 0.4])
def test_a_mixture_is_the_average_of_its_nodes(book, padded, most, outcomes):
    chance, loss, weight = book(1, outcomes=outcomes, most=most)
    nodes = nodes_for(chance)
    year = mixture_loss(nodes, loss, weight, 1)
    each = [annual_loss(column, loss, weight, 1) for column in nodes.chance.T]
    exact = sum(w * padded(one.pmf, len(year.pmf)) for w, one in zip(WEIGHT, each, strict=True))
    np.testing.assert_allclose(year.pmf, exact, atol=1e-14)
    assert year.mean == pytest.approx(WEIGHT @ [one.mean for one in each], rel=1e-12)
    assert year.process_sd**2 == pytest.approx(WEIGHT @ [one.sd**2 for one in each], rel=1e-10)
    assert year.parameter_sd**2 == pytest.approx(
        WEIGHT @ [(one.mean - year.mean) ** 2 for one in each], rel=1e-9
    )
    assert year.sd == pytest.approx(np.sqrt(year.pmf @ (year.losses - year.mean) ** 2), rel=1e-9)


@given(st.integers(0, 1000), st.sampled_from([0.05, 0.8]), st.sampled_from([1, 4]))
@settings(max_examples=30, deadline=None)
def test_the_mean_is_the_sum_over_risks_of_their_averages(book, seed, most, outcomes):
    chance, loss, weight = book(seed, risks=20, outcomes=outcomes, most=most, largest=5000)
    nodes = nodes_for(chance)
    year = mixture_loss(nodes, loss, weight)
    by_risk = (nodes.chance * (loss * weight).sum(axis=1)[:, None]) @ WEIGHT
    assert year.mean == pytest.approx(by_risk.sum(), rel=1e-9)
    assert year.pmf @ year.losses == pytest.approx(by_risk.sum(), rel=1e-9)


@pytest.mark.parametrize("loss", [np.arange(1.0, 41.0), np.linspace(1, 30, 40) * np.pi])
def test_cells_of_equal_chances_are_the_same_as_rows(loss):
    random = np.random.default_rng(2)
    cells, cell = random.uniform(0, 0.09, (7, 3)), random.integers(0, 7, 40)
    short = mixture_loss(node_chances(cells, WEIGHT, cell), loss, step=1)
    long = mixture_loss(node_chances(cells[cell], WEIGHT), loss, step=1)
    np.testing.assert_allclose(short.pmf, long.pmf, atol=1e-15)
    assert short.sd == pytest.approx(long.sd, rel=1e-12)


def test_cells_with_outcomes_and_large_chances_are_the_same_as_rows(book):
    _, loss, weight = book(8, risks=30, outcomes=2)
    random = np.random.default_rng(3)
    cells, cell, count = random.uniform(0, 0.9, (5, 3)), random.integers(0, 5, 30), random.integers(1, 4, 30)
    short = mixture_loss(node_chances(cells, WEIGHT, cell), loss, weight, 1, count=count)
    rows = np.repeat(np.arange(30), count)
    long = mixture_loss(node_chances(cells[cell[rows]], WEIGHT), loss[rows], weight[rows], 1)
    np.testing.assert_allclose(short.pmf, long.pmf, atol=1e-14)


def test_one_node_is_no_mixture(book):
    chance, loss, weight = book(4, outcomes=2, most=0.3)
    year = mixture_loss(node_chances(chance[:, None], [1.0]), loss, weight, 1)
    np.testing.assert_allclose(year.pmf, annual_loss(chance, loss, weight, 1).pmf, atol=1e-15)
    assert (year.parameter_sd, year.errors.lumpiness) == (0, 0)


def test_a_shared_factor_fattens_the_tail_and_keeps_the_mean():
    chance, loss = np.full(20_000, 0.002), np.full(20_000, 1000.0)
    alone, year = annual_loss(chance, loss), shared_factor_loss(chance, loss, lognormal_factor(0.4))
    assert year.mean == pytest.approx(alone.mean, rel=1e-12)
    assert year.parameter_sd == pytest.approx(0.4 * alone.mean, rel=1e-6)
    assert year.process_sd == pytest.approx(alone.sd, rel=2e-3)
    assert year.quantile(0.99) > 1.5 * alone.quantile(0.99)


@pytest.mark.parametrize("outcomes", [1, 3])
@pytest.mark.parametrize("most", [0.01, 0.06, 0.5])
@pytest.mark.parametrize("step", [1.0, 1.7])
def test_a_scalar_factor_by_power_sums_is_the_mixture_of_its_nodes(book, most, outcomes, step):
    chance, loss, weight = book(9, outcomes=outcomes, most=most)
    shared = lognormal_factor(0.3, 24)
    fast = shared_factor_loss(chance, loss, shared, weight, step)
    slow = mixture_loss(factor_chances(chance, shared), loss, weight, step)
    np.testing.assert_allclose(fast.pmf, slow.pmf, atol=2e-14)
    assert fast.mean == pytest.approx(slow.mean, rel=1e-12)
    assert fast.process_sd == pytest.approx(slow.process_sd, rel=1e-10)
    assert fast.parameter_sd == pytest.approx(slow.parameter_sd, rel=1e-9)


def test_a_large_book_by_power_sums_is_the_mixture_of_its_nodes():
    random = np.random.default_rng(5)
    chance, loss = random.uniform(0, 0.02, 20_000), random.lognormal(8, 1.5, 20_000)
    shared = lognormal_factor(0.2, 12)
    fast = shared_factor_loss(chance, loss, shared)
    slow = mixture_loss(factor_chances(chance, shared), loss)
    level = [0.01, 0.5, 0.9, 0.99, 0.999]
    np.testing.assert_allclose(fast.quantile(level), slow.quantile(level), rtol=2e-5)
    assert fast.pmf @ fast.losses == pytest.approx(chance @ loss, rel=1e-9)


def test_counts_stand_for_rows_under_a_factor(book):
    chance, loss, weight = book(6, risks=10, outcomes=2, most=0.3)
    count = np.arange(10)
    shared = lognormal_factor(0.3, 10)
    short = shared_factor_loss(chance, loss, shared, weight, 1, count=count)
    rows = np.repeat(np.arange(10), count)
    long = shared_factor_loss(chance[rows], loss[rows], shared, weight[rows], 1)
    size = min(len(short.pmf), len(long.pmf))
    np.testing.assert_allclose(short.pmf[:size], long.pmf[:size], atol=1e-14)


def test_a_factor_without_spread_is_none(book):
    chance, loss, weight = book(2, most=0.3)
    year = lognormal_shared_loss(chance, loss, 0.0, weight, 1)
    np.testing.assert_allclose(year.pmf, annual_loss(chance, loss, weight, 1).pmf, atol=1e-15)


@pytest.mark.parametrize("sd", [0.05, 0.3, 1.0])
@pytest.mark.parametrize("count", [32, 64, 300])
def test_a_lognormal_factor_has_its_moments(sd, count):
    shared = lognormal_factor(sd, count)
    assert shared.value @ shared.weight == pytest.approx(1, abs=1e-14)
    assert np.sqrt(shared.weight @ (shared.value - 1) ** 2) == pytest.approx(sd, rel=1e-6)
    assert (np.diff(shared.value) > 0).all()


@given(st.integers(0, 500), st.floats(0.001, 0.95))
@settings(max_examples=60, deadline=None)
def test_an_exponent_keeps_each_cells_average(seed, target):
    random = np.random.default_rng(seed)
    nodes, weight = random.uniform(0, 1, (4, 9)) ** 3, random.dirichlet(np.ones(9))
    targets = np.minimum(target, 0.99 * (nodes > 0) @ weight)
    exponent = node_exponents(nodes, weight, targets)
    # Plain powers would lose the digits of a small chance that a large exponent then brings out.
    failed = -np.expm1(exponent[:, None] * np.log1p(-nodes))
    np.testing.assert_allclose(failed @ weight, targets, rtol=1e-12)
    np.testing.assert_allclose(scaled_chances(nodes, exponent[:, None]), failed, rtol=1e-13)


def test_the_exponent_of_its_own_average_is_one():
    nodes = np.array([[0.1, 0.2, 0.4], [1e-9, 1e-8, 1e-7], [0.5, 1.0, 0.2]])
    np.testing.assert_allclose(node_exponents(nodes, WEIGHT, nodes @ WEIGHT), 1, rtol=1e-9)
    assert node_exponents(nodes[:1], WEIGHT, [0.0]) == 0


def test_exponents_rise_with_their_target():
    nodes, target = np.tile([0.02, 0.1, 0.5], (30, 1)), np.linspace(0.01, 0.99, 30)
    assert (np.diff(node_exponents(nodes, WEIGHT, target)) > 0).all()


def test_mixing_distributions_adds_their_variances():
    low, high = annual_loss(np.full(50, 0.1), np.ones(50)), annual_loss(np.full(80, 0.5), np.ones(80))
    both = mixture_of([low, high], [0.75, 0.25])
    assert both.mean == pytest.approx(0.75 * 5 + 0.25 * 40)
    assert both.sd == pytest.approx(np.sqrt(both.pmf @ (both.losses - both.mean) ** 2), rel=1e-9)
    assert both.cdf(10) == pytest.approx(0.75 * low.cdf(10) + 0.25 * high.cdf(10), abs=1e-14)
    assert both.errors.lumpiness > 1


def test_continuous_nodes_may_share_a_step_and_counts():
    random = np.random.default_rng(8)
    cells = random.uniform(0, 0.02, (50, 1)) * np.array([0.5, 1.0, 1.5])
    nodes = node_chances(cells, [0.25, 0.5, 0.25])
    loss, count = random.lognormal(8, 0.5, 50), np.full(50, 2000)
    year = continuous_mixture_loss(nodes, loss, step=500.0, count=count)
    assert year.step == 500
    assert year.start > 0
    assert year.errors.lumpiness == 0
    assert year.pmf @ year.losses == pytest.approx(year.mean, rel=1e-9)
    assert np.sqrt(year.pmf @ (year.losses - year.mean) ** 2) == pytest.approx(year.sd, rel=1e-5)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: factor([0.5, 1.0], [0.5, 0.5]), "must have mean 1, got 0.75"),
        (lambda: factor([1.0], [0.5, 0.5]), "one shape"),
        (lambda: factor([1.0], [0.9]), r"node weights .* must add to 1, got 0.9"),
        (lambda: lognormal_factor(-0.1), "sd must be 0 or more"),
        (lambda: node_chances([[0.1, 0.2]], [1.0]), r"chance must be \(cells, 1 nodes\)"),
        (lambda: node_chances([[1.1]], [1.0]), "up to 1.1"),
        (lambda: node_chances([[0.1]], [1.0], [1]), "cell must be whole numbers from 0 to 0"),
        (lambda: node_chances([[0.1]], [1.0], [0.0]), "cell must be whole numbers"),
        (
            lambda: node_exponents([[0.1, 0.0]], [0.5, 0.5], [0.6]),
            "target must be below 0.5, got 0.6 at cell 0",
        ),
        (lambda: node_exponents([[0.1]], [1.0], [1.0]), "target must be below 1"),
        (
            lambda: mixture_of([annual_loss([0.1], [1.0]), annual_loss([0.1], [2.0])], [0.5, 0.5]),
            "all of step 1",
        ),
    ],
)
def test_what_is_no_mixture_is_refused(make, says):
    with pytest.raises(ParameterError, match=says):
        make()
