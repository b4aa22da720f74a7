"""Yearly losses against closed forms, worked examples, and another program.

The worked values: compound Poisson of a two-point loss with R's actuar 3.3-2 and the library `aggregate` 0.30.1,
which agree; compound Poisson of exponential losses by its series; log-normal, exponential and binomial in closed
form; the individual risks as in the textbooks' convolution (Klugman, Panjer & Willmot, Loss Models).
"""

import warnings

import numpy as np
import pytest
from scipy.stats import binom, expon, gamma, norm, poisson

from riskmodel.exposure import annual_loss, poisson_loss, return_period
from riskmodel.exposure.largest import occurrence_exceedance, poisson_largest_loss
from riskmodel.exposure.payouts import Payouts, split_on
from riskmodel.lognormal import exceedance, limited_mean

LOG_MEAN, LOG_SD = 10.0, 1.5
MEDIAN = np.exp(LOG_MEAN)
ONE_LOG_NORMAL = Payouts(*map(np.array, (MEDIAN, LOG_SD, np.inf, 0.0, 0.0, 0.0, np.inf)))


def exponential_on(points):
    """An exponential loss of mean 1000 on a lattice, each amount split between its two points: in closed form."""
    step = points[1] / 1000.0
    mass = np.exp(-points / 1000.0) * 4.0 * np.sinh(0.5 * step) ** 2 / step
    mass[0], mass[-1] = 1.0 + np.expm1(-step) / step, np.exp(-points[-2] / 1000.0) * -np.expm1(-step) / step
    return mass


def between(year):
    """The curve of continuous losses between the points: each point's mass spread evenly over the step about it."""
    ends = np.concatenate([[0.0], year.losses + 0.5 * year.step])
    upto = np.minimum(np.cumsum(year.pmf), 1.0)
    return ends, np.concatenate([[upto[0]], upto])


def cdf_between(year, amount):
    return np.interp(amount, *between(year))


def quantile_between(year, probability):
    ends, upto = between(year)
    return np.interp(probability, upto, ends)


@pytest.fixture(scope="module")
def two_points():
    return poisson_loss(2, [1, 2], [0.6, 0.4])


@pytest.fixture(scope="module")
def exponential_losses():
    """Poisson(3) losses, each exponential with mean 1000, on a lattice of half units."""
    points = 0.5 * np.arange(80_001.0)
    return poisson_loss(3, points, exponential_on(points))


def test_poisson_numbers_of_two_sizes(two_points):
    published = [0.135335283237, 0.162402339884, 0.205709630520, 0.168898433479, 0.132953382252]
    assert two_points.pmf[:5] == pytest.approx(published, abs=1e-12)
    assert (two_points.mean, two_points.sd**2) == pytest.approx((2.8, 4.4), rel=1e-12)
    assert two_points.quantile([0.90, 0.95, 0.99]) == pytest.approx([6, 7, 9])


def test_its_two_tail_means(two_points):
    level = [0.90, 0.95, 0.99]
    assert two_points.tail_mean(level) == pytest.approx([7.0542030, 7.9864235, 9.9297040], abs=5e-8)
    assert two_points.tail_mean_beyond(level) == pytest.approx([7.8791790, 8.7982693, 10.6834762], abs=5e-8)


def test_poisson_numbers_of_exponential_losses(exponential_losses):
    year = exponential_losses
    assert cdf_between(year, [3000, 5000]) == pytest.approx([0.583328716320, 0.814938772487], abs=1e-8)
    assert quantile_between(year, [0.99, 0.995]) == pytest.approx([10706.375705, 11913.681959], rel=1e-8)
    # A step curve is within a step of it, and years without a loss share nought with the smallest of losses.
    assert year.quantile([0.99, 0.995]) == pytest.approx([10706.375705, 11913.681959], abs=year.step)
    assert year.tail_mean([0.99, 0.995]) == pytest.approx([12410.338915, 13576.873448], rel=1e-8)
    assert year.cdf(0) == pytest.approx(0.049787068368, abs=0.049787 * 3 * 0.5 * year.step / 1000 * 1.01)
    assert year.mean == pytest.approx(3000, rel=1e-9)
    # The discretisation's own word: variance 3 x 2 x 1000² but for a sixth of a step² a loss.
    assert year.sd == pytest.approx(np.sqrt(3 * 2) * 1000, rel=1e-6)


def test_a_split_by_limited_means_is_the_closed_form():
    points = 50.0 * np.arange(301.0)
    mass = split_on(points, -1000.0 * np.expm1(-points / 1000.0))
    np.testing.assert_allclose(mass, exponential_on(points), rtol=1e-7, atol=1e-13)


def test_its_errors_fall_with_the_square_of_the_step():
    far = []
    for step in (20.0, 10.0, 5.0):
        points = step * np.arange(30_000 / step + 1)
        year = poisson_loss(3, points, exponential_on(points))
        far.append(abs(float(quantile_between(year, 0.99)) - 10706.375705))
    assert far[0] / far[1] == pytest.approx(4, rel=0.1)
    assert far[1] / far[2] == pytest.approx(4, rel=0.1)


def test_the_series_itself_gives_the_same_curve(exponential_losses):
    number = np.arange(1, 60)
    for amount in (500.0, 3000.0, 9000.0):
        series = poisson.pmf(0, 3) + poisson.pmf(number, 3) @ gamma.cdf(amount, number, scale=1000)
        assert cdf_between(exponential_losses, amount) == pytest.approx(series, abs=1e-8)


def test_one_log_normal_loss():
    points = 2000.0 * np.arange(2**17 + 1.0)
    upto = ONE_LOG_NORMAL.mean_upto(points)
    mass = split_on(points, upto)
    year = annual_loss([1.0], points, mass / mass.sum())
    assert quantile_between(year, 0.995) == pytest.approx(1049415.55756, rel=1e-5)
    # What lies above the lattice's end stands on it, and the tail mean misses no more than that.
    missed = (np.exp(LOG_MEAN + LOG_SD**2 / 2) - upto[-1]) / 0.005
    assert year.tail_mean(0.995) == pytest.approx(1913289.8612, rel=1e-5, abs=missed)
    assert year.mean == pytest.approx(np.exp(LOG_MEAN + LOG_SD**2 / 2), rel=1e-5)


def test_its_limited_mean():
    assert limited_mean(MEDIAN, LOG_SD, 50_000.0) == pytest.approx(26163.3518551, rel=1e-11)
    points = 50.0 * np.arange(1001.0)
    assert points @ split_on(points, ONE_LOG_NORMAL.mean_upto(points)) == pytest.approx(
        26163.3518551, rel=1e-11
    )


def test_one_exponential_loss():
    points = 0.25 * np.arange(2**18 + 1.0)
    year = annual_loss([1.0], points, exponential_on(points))
    assert quantile_between(year, 0.99) == pytest.approx(4605.17018599, rel=1e-7)
    assert year.tail_mean(0.99) == pytest.approx(5605.17018599, rel=1e-7)
    assert expon.ppf(0.99, scale=1000) == pytest.approx(4605.17018599)


def test_individual_risks():
    year = annual_loss([0.02, 0.05, 0.1, 0.01, 0.2], [4, 3, 2, 10, 1])
    assert year.pmf[:4] == pytest.approx([0.6636168, 0.1659042, 0.0737352, 0.053361], abs=1e-14)
    assert (year.mean, year.sd**2) == pytest.approx((0.73, 2.2511), rel=1e-12)


def test_occurrence_against_aggregate():
    above = exceedance(MEDIAN, LOG_SD, 500_000.0)
    found = occurrence_exceedance(3.0, above)
    assert found == pytest.approx(0.054528827163, abs=5e-13)
    assert return_period(found) == pytest.approx(18.338924, abs=5e-7)
    # By outcomes too: the two agree where an outcome ends.
    points = norm.ppf((np.arange(20_000) + 0.5) / 20_000)
    losses = np.exp(LOG_MEAN + LOG_SD * points)
    largest = poisson_largest_loss(3.0, losses, np.full(20_000, 1 / 20_000))
    assert largest.exceedance(500_000.0) == pytest.approx(0.054528827163, abs=3 / 20_000)


def test_binomial_years():
    for count, chance in ((40, 0.03), (2000, 0.002), (300, 0.45)):
        year = annual_loss([chance], [250.0], count=[count])
        number = np.arange(0, count + 1)
        assert year.cdf(number * 250.0) == pytest.approx(binom.cdf(number, count, chance), abs=1e-12)
        assert year.sd == pytest.approx(250 * np.sqrt(count * chance * (1 - chance)), rel=1e-12)


def test_another_program_finds_the_same_years():
    theirs = aggregate_finds("agg Two 2 claims dsev [1 2] [0.6 0.4] poisson", log2=10, bs=1)
    np.testing.assert_allclose(poisson_loss(2, [1, 2], [0.6, 0.4]).pmf[:30], theirs[:30], atol=1e-13)
    program = "agg Four 40 claims dsev [100 250 700 2000] [0.4 0.3 0.2 0.1] binomial 0.02"
    theirs = aggregate_finds(program, log2=14, bs=50)
    sizes, weight = [[100.0, 250.0, 700.0, 2000.0]], [[0.4, 0.3, 0.2, 0.1]]
    ours = annual_loss([0.02], sizes, weight, 50, count=[2000])
    np.testing.assert_allclose(ours.pmf[:1000], theirs[:1000], atol=1e-12)


def aggregate_finds(program, **options):
    """Chances of totals on its lattice; what it warns of on the way is its own affair."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        aggregate = pytest.importorskip(
            "aggregate", reason="the library aggregate: pip install 'riskmodel[check]'"
        )
        return aggregate.build(program, **options).density_df.p_total.to_numpy()
