"""Mistakes that look right: each is shown to be one, and shown not to be made here."""

import numpy as np
import pytest
from scipy.stats import binom, lognorm, norm

from riskmodel.exposure import (
    annual_loss,
    continuous_mixture_loss,
    enough_nodes,
    factor,
    factor_chances,
    lognormal_factor,
    lognormal_shared_loss,
    mixture_loss,
    node_chances,
    shared_factor_loss,
)

SPREAD = 0.3


def gauss_hermite(sd, count):
    """Nodes of a log-normal factor of mean one by the usual quadrature."""
    score, weight = np.polynomial.hermite_e.hermegauss(count)
    log_sd = np.sqrt(np.log1p(sd**2))
    value = np.exp(log_sd * score)
    weight = weight / weight.sum()
    return factor(value / (value @ weight), weight)


def peaks(year, least=1e-9):
    """How many times the curve turns down from a height that shows."""
    height = year.pmf[year.pmf > least * year.pmf.max()]
    return int(np.sum((height[1:-1] > height[:-2]) & (height[1:-1] >= height[2:])))


def test_power_sums_diverge_above_one_half():
    # Sum over j of (-1)^(j + 1) (p (phi - 1))^j / j where phi = -1, as it is at the highest frequency of one step.
    orders = np.arange(1, 200)
    for chance, converges in ((0.1, True), (0.45, True), (0.55, False), (0.7, False)):
        terms = (-1.0) ** (orders + 1) * (-2.0 * chance) ** orders / orders
        assert (np.abs(terms[-1]) < 1e-6) == converges
    year = annual_loss(np.full(40, 0.7), np.ones(40))
    np.testing.assert_allclose(year.pmf[:41], binom.pmf(np.arange(41), 40, 0.7), atol=1e-15)


def test_clipping_chances_to_make_a_series_converge_loses_loss():
    chance, shared = np.array([0.06, 0.3]), lognormal_factor(0.6, 40)
    clipped = np.minimum(chance[:, None] * shared.value, 0.5) @ shared.weight
    assert clipped[1] < 0.98 * chance[1]
    nodes = factor_chances(chance, shared)
    assert nodes.chance.max() <= 1
    np.testing.assert_allclose(nodes.average, chance, rtol=1e-13)
    year = shared_factor_loss(chance, [100.0, 100.0], shared)
    assert year.mean == pytest.approx(36, rel=1e-12)
    assert year.pmf @ year.losses == pytest.approx(36, rel=1e-9)


def test_ten_deviations_are_no_window_for_one_boat_with_a_rare_large_loss():
    chance, loss = np.append(np.full(400, 0.02), 1e-6), np.append(np.full(400, 1000.0), 5e6)
    year = annual_loss(chance, loss)
    assert year.mean + 10 * year.sd < 5e6
    assert year.exceedance(4.9e6) == pytest.approx(1e-6, rel=1e-6)
    # A window that short folds the loss back to where the mean is.
    short = 2 ** int(np.ceil(np.log2((year.mean + 10 * year.sd) / 1000)))
    exact = year.pmf / year.pmf.sum()
    folded = np.bincount(np.arange(len(exact)) % short, exact, short)
    assert folded[short - 1 :].sum() < 1e-9
    assert folded @ np.arange(short) * 1000 < year.mean - 4


def test_the_window_of_many_losses_keeps_the_rare_one_too():
    random = np.random.default_rng(4)
    chance = np.append(random.uniform(0, 0.02, 20_000), 1e-5)
    loss = np.append(random.lognormal(7, 1, 20_000), 3e7)
    year = annual_loss(chance, loss)
    assert year.start + len(year.pmf) * year.step > 3e7
    assert year.exceedance(2.5e7) == pytest.approx(1e-5, rel=1e-4)


def test_a_window_for_independent_boats_would_wrap_where_a_factor_is_shared():
    count, chance = 20_000, 0.01
    shared = lognormal_factor(0.5, 48)
    alone = annual_loss([chance], [1.0], count=[count])
    year = shared_factor_loss([chance], [1.0], shared, count=[count])
    assert year.quantile(0.999) > alone.mean + 10 * alone.sd
    beyond = 1000
    exact = sum(
        weight * binom.sf(beyond, count, node)
        for weight, node in zip(
            shared.weight, factor_chances(np.array([chance]), shared).chance[0], strict=True
        )
    )
    assert exact > 1e-6
    assert year.exceedance(beyond) == pytest.approx(exact, rel=1e-8)
    assert year.exceedance(year.losses[-1]) == 0
    assert year.errors.wrap <= 1e-12


def test_no_node_of_a_mixture_falls_outside_the_window():
    random = np.random.default_rng(6)
    base = random.uniform(0, 0.004, (3000, 1))
    nodes = node_chances(base * np.array([0.2, 1.0, 6.0]), [0.6, 0.39, 0.01])
    loss = random.lognormal(8, 1, 3000)
    year = mixture_loss(nodes, loss)
    alone = [annual_loss(column, loss) for column in nodes.chance.T]
    far = alone[2].mean + 4 * alone[2].sd
    assert far > alone[1].mean + 15 * alone[1].sd
    assert year.exceedance(far) == pytest.approx(0.01 * alone[2].exceedance(far), rel=1e-3)
    assert year.pmf.sum() == pytest.approx(1, abs=1e-11)


def test_gauss_hermite_nodes_of_a_large_book_are_lumps_and_said_to_be():
    year = shared_factor_loss([0.01], [1000.0], gauss_hermite(SPREAD, 16), count=[2_000_000])
    assert year.errors.lumpiness > 1
    assert peaks(year) > 5
    small = shared_factor_loss([0.01], [1000.0], gauss_hermite(SPREAD, 16), count=[200])
    assert small.errors.lumpiness < 1
    assert peaks(small) == 1


def test_enough_nodes_leave_no_lumps():
    year = lognormal_shared_loss([0.01], [1000.0], SPREAD, count=[2_000_000])
    assert year.errors.lumpiness <= 1
    assert peaks(year) == 1
    assert enough_nodes(SPREAD, year.mean, year.process_sd) > 64
    # Next to the factor chance is nothing here: the curve is the factor's own.
    log_sd = np.sqrt(np.log1p(SPREAD**2))
    level = np.array([0.01, 0.5, 0.9, 0.99, 0.999])
    exact = year.mean * lognorm.ppf(level, log_sd, scale=np.exp(-(log_sd**2) / 2))
    np.testing.assert_allclose(year.quantile(level), exact, rtol=1e-3)


def test_few_nodes_of_something_continuous_are_joined_with_mean_and_deviation_kept():
    shared = gauss_hermite(SPREAD, 16)
    nodes = factor_chances(np.array([0.01]), shared)
    lumps = mixture_loss(nodes, [1000.0], count=[2_000_000])
    joined = continuous_mixture_loss(nodes, [1000.0], count=[2_000_000])
    assert peaks(lumps) > 5
    assert peaks(joined, 1e-4) == 1
    assert joined.mean == lumps.mean
    assert joined.sd == lumps.sd
    assert joined.pmf @ joined.losses == pytest.approx(lumps.mean, rel=1e-9)
    assert np.sqrt(joined.pmf @ (joined.losses - joined.mean) ** 2) == pytest.approx(lumps.sd, rel=1e-5)
    log_sd = np.sqrt(np.log1p(SPREAD**2))
    exact = joined.mean * np.exp(log_sd * norm.ppf([0.05, 0.5, 0.95, 0.99]) - log_sd**2 / 2)
    np.testing.assert_allclose(joined.quantile([0.05, 0.5, 0.95, 0.99]), exact, rtol=0.015)


def test_a_book_without_lumps_is_not_smoothed():
    nodes = factor_chances(np.array([0.01]), gauss_hermite(SPREAD, 16))
    plain = mixture_loss(nodes, [1000.0], count=[200])
    same = continuous_mixture_loss(nodes, [1000.0], count=[200])
    np.testing.assert_array_equal(plain.pmf, same.pmf)


def test_what_happens_or_does_not_keeps_its_two_lumps():
    nodes = node_chances([[0.01, 0.2]], [0.95, 0.05])
    year = mixture_loss(nodes, [1000.0], count=[1000])
    assert peaks(year) == 2
    assert year.exceedance(100_000) == pytest.approx(0.05, rel=1e-6)
