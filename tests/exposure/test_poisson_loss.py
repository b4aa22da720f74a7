"""Compound Poisson years: the same answer type, and the limit of many small chances."""

import numpy as np
import pytest
from scipy.stats import poisson

from riskmodel.errors import ParameterError
from riskmodel.exposure import annual_loss, poisson_loss


def panjer(rate, mass, points):
    """Panjer's recursion (1981) for Poisson numbers of losses 1, 2, …"""
    found = np.zeros(points)
    found[0] = np.exp(-rate)
    for total in range(1, points):
        sizes = np.arange(1, min(total, len(mass)) + 1)
        found[total] = rate / total * (sizes * mass[sizes - 1]) @ found[total - sizes]
    return found


def test_it_agrees_with_the_recursion():
    mass = np.random.default_rng(1).dirichlet(np.ones(12))
    year = poisson_loss(3.7, np.arange(1, 13), mass)
    np.testing.assert_allclose(year.pmf, panjer(3.7, mass, len(year.pmf)), atol=1e-14)


def test_one_size_is_a_poisson_number():
    year = poisson_loss([2.5], [400.0])
    assert year.step == 400
    np.testing.assert_allclose(year.pmf, poisson.pmf(np.arange(len(year.pmf)), 2.5), atol=1e-15)
    assert (year.mean, year.sd) == pytest.approx((1000, 400 * np.sqrt(2.5)))


def test_rows_add_up():
    rows = poisson_loss([0.5, 1.5], [[1.0, 3.0], [2.0, 3.0]], [[0.5, 0.5], [0.2, 0.8]])
    one = poisson_loss(2.0, [1.0, 2.0, 3.0], [0.125, 0.15, 0.725])
    np.testing.assert_allclose(rows.pmf, one.pmf, atol=1e-15)
    assert rows.sd == pytest.approx(one.sd)


def test_counts_stand_for_rows():
    short, long = poisson_loss([0.1], [5.0], count=[30]), poisson_loss([3.0], [5.0])
    np.testing.assert_allclose(short.pmf, long.pmf, atol=1e-15)


def test_many_small_chances_are_nearly_poisson():
    years = annual_loss([1e-5], [1.0], count=[300_000])
    limit = poisson_loss(3.0, [1.0])
    assert years.cdf(np.arange(12)) == pytest.approx(limit.cdf(np.arange(12)), abs=2e-5)
    assert years.sd < limit.sd


def test_a_busy_year_keeps_to_its_limits():
    year = poisson_loss(1e6, [100.0, 2500.0, 31.4], [0.5, 0.1, 0.4])
    assert year.start > 0
    assert year.pmf.sum() == pytest.approx(1, abs=1e-9)
    assert year.pmf @ year.losses == pytest.approx(year.mean, rel=1e-9)
    assert year.errors.wrap <= 1e-12


def test_no_losses_no_loss():
    year = poisson_loss(0.0, [10.0])
    assert (year.mean, year.sd, year.quantile(0.999)) == (0, 0, 0)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((-1.0, [1.0]), "rate must be 0 or more"),
        ((np.inf, [1.0]), "must be 0 or more and finite"),
        ((1.0, [1.0, 2.0], [0.5, 0.6]), "weight must add to 1"),
        ((1.0, [1.0], None, -2.0), "step must be above 0"),
    ],
)
def test_what_is_not_a_rate_is_refused(arguments, says):
    with pytest.raises(ParameterError, match=says):
        poisson_loss(*arguments)
