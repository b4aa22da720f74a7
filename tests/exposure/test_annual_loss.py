"""A year of independent risks: exact on the lattice, its mean kept off it, and honest about the rest."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from riskmodel.errors import ParameterError
from riskmodel.exposure import annual_loss
from riskmodel.exposure.series import SMALL

LEVELS = np.array([0.5, 0.9, 0.99, 0.999])


@pytest.mark.parametrize("outcomes", [1, 2, 5])
@pytest.mark.parametrize("most", [0.01, 0.1, 0.5, 1.0])
def test_a_small_book_is_that_of_exact_convolution(book, convolved, padded, quantiles, most, outcomes):
    chance, loss, weight = book(3, outcomes=outcomes, most=most)
    year = annual_loss(chance, loss, weight, step=1)
    exact = convolved(chance, loss, weight)
    assert year.start == 0
    np.testing.assert_allclose(year.pmf, padded(exact, len(year.pmf)), atol=1e-15)
    np.testing.assert_allclose(year.quantile(LEVELS), quantiles(exact, LEVELS), rtol=1e-6)
    assert year.errors.discretisation == year.errors.moved == year.errors.wrap == 0


@pytest.mark.parametrize("outcomes", [1, 3])
def test_mean_and_deviation_are_those_of_the_lattice(book, outcomes):
    chance, loss, weight = book(5, outcomes=outcomes, most=0.4)
    year = annual_loss(chance, loss, weight, step=1)
    assert year.mean == pytest.approx(year.pmf @ year.losses, rel=1e-12)
    assert year.sd == pytest.approx(np.sqrt(year.pmf @ (year.losses - year.mean) ** 2), rel=1e-11)
    assert (year.process_sd, year.parameter_sd) == (year.sd, 0)


@pytest.mark.parametrize("chance", [0.02, SMALL, 0.11, 0.5, 0.97])
def test_equal_boats_are_binomial(chance):
    year = annual_loss(np.full(200, chance), np.full(200, 1000.0))
    assert year.step == 1000
    np.testing.assert_allclose(year.pmf[:201], binom.pmf(np.arange(201), 200, chance), atol=2e-14)


def test_counts_stand_for_rows(book, padded):
    chance, loss, weight = book(7, risks=12, outcomes=2, most=0.6)
    count = np.random.default_rng(1).integers(0, 9, 12)
    counted = annual_loss(chance, loss, weight, 1, count=count)
    rows = annual_loss(*(np.repeat(each, count, axis=0) for each in (chance, loss, weight)), 1)
    size = max(len(counted.pmf), len(rows.pmf))
    np.testing.assert_allclose(padded(counted.pmf, size), padded(rows.pmf, size), atol=1e-15)
    assert counted.mean == pytest.approx(rows.mean)
    assert counted.sd == pytest.approx(rows.sd)


def test_a_million_equal_boats_need_no_million_rows():
    year = annual_loss([0.003, 0.2], [5000.0, 100.0], count=[1_000_000, 50])
    assert year.mean == pytest.approx(1_000_000 * 15 + 50 * 20)
    exact = binom.ppf(0.99, 1_000_000, 0.003) * 5000 + 1000
    assert year.quantile(0.99) == pytest.approx(exact, abs=2000)


@given(
    st.lists(st.tuples(st.floats(0, 1), st.integers(0, 40)), min_size=1, max_size=12),
    st.floats(0.01, 0.99),
)
@settings(max_examples=60, deadline=None)
def test_any_book_on_its_points_is_exact(convolved, padded, risks, level):
    chance, loss = (np.array(each, dtype=float) for each in zip(*risks, strict=True))
    year = annual_loss(chance, loss, step=1)
    exact = convolved(chance, loss[:, None], np.ones((len(loss), 1)))
    np.testing.assert_allclose(padded(exact, len(year.pmf)), year.pmf, atol=1e-13)
    assert year.mean == pytest.approx(chance @ loss, rel=1e-12, abs=1e-300)
    assert year.cdf(year.quantile(level)) >= level - 1e-9


@given(st.integers(0, 10_000), st.floats(0.3, 9.0), st.sampled_from([0.05, 0.9]), st.sampled_from([1, 3]))
@settings(max_examples=40, deadline=None)
def test_off_the_points_the_mean_is_kept_and_excess_grows_no_more_than_said(book, seed, step, most, outcomes):
    chance, loss, weight = book(seed, risks=10, outcomes=outcomes, most=most)
    coarse, exact = annual_loss(chance, loss, weight, step), annual_loss(chance, loss, weight, 1)
    assert coarse.pmf @ coarse.losses == pytest.approx(exact.mean, rel=1e-9, abs=1e-12)
    spread = np.sqrt(coarse.pmf @ (coarse.losses - coarse.mean) ** 2)
    assert spread == pytest.approx(exact.sd + coarse.errors.discretisation, rel=1e-7, abs=1e-9)
    above = np.linspace(0, exact.losses[-1], 50)
    grown = coarse.expected_excess(above) - exact.expected_excess(above)
    # Splitting a loss can only widen the total: expected excess never falls.
    assert (grown >= -1e-9).all()
    assert (grown <= coarse.errors.moved + 1e-9).all()


def test_losses_between_points_split_exactly_as_two_outcomes(padded):
    chance, loss = np.array([0.04, 0.08, 0.6, 0.09]), np.array([2.25, 0.5, 1.75, 3.0])
    split = annual_loss(chance, loss, step=1)
    lower = np.floor(loss)
    both = annual_loss(
        chance, np.stack([lower, lower + 1], 1), np.stack([1 - loss + lower, loss - lower], 1), 1
    )
    size = max(len(split.pmf), len(both.pmf))
    np.testing.assert_allclose(padded(split.pmf, size), padded(both.pmf, size), atol=1e-15)


def test_whole_cents_are_their_own_lattice():
    assert annual_loss([0.1, 0.2], [12.35, 24.70]).step == pytest.approx(12.35)
    assert annual_loss([0.1, 0.2], [1250, 700]).step == 50


def test_losses_without_a_unit_get_a_fine_lattice():
    year = annual_loss([0.1, 0.2], [np.pi * 1e4, np.e * 1e4])
    assert year.step < 1
    assert year.exceedance([np.pi * 1e4 - 1, np.pi * 1e4 + 1]) == pytest.approx([0.1, 0.02], abs=1e-12)


def test_a_large_book_keeps_to_its_limits():
    random = np.random.default_rng(2)
    chance, loss = random.uniform(0, 0.02, 50_000), random.lognormal(8, 1, 50_000)
    year = annual_loss(chance, loss)
    assert year.start > 0
    assert year.errors.wrap <= 1e-12
    assert year.pmf.sum() == pytest.approx(1, abs=1e-11)
    assert year.pmf @ year.losses == pytest.approx(year.mean, rel=1e-9)
    assert year.errors.discretisation < 1e-4 * year.sd


def test_a_large_book_agrees_with_a_simulation():
    random = np.random.default_rng(11)
    chance, loss = random.uniform(0, 0.02, 3000), random.lognormal(8, 1, 3000)
    years = np.array([(random.random(3000) < chance) @ loss for _ in range(4000)])
    year = annual_loss(chance, loss)
    assert years.mean() == pytest.approx(year.mean, abs=4 * year.sd / 4000**0.5)
    for level in (0.1, 0.5, 0.9, 0.99):
        found = np.mean(years <= year.quantile(level))
        assert found == pytest.approx(level, abs=4.5 * np.sqrt(level * (1 - level) / 4000))


@pytest.mark.parametrize(("chance", "loss"), [([], []), ([0.5], [0.0]), ([0.0, 0.0], [10.0, 20.0])])
def test_a_book_that_cannot_lose_loses_nothing(chance, loss):
    year = annual_loss(chance, loss)
    assert (year.mean, year.sd, year.quantile(0.999), year.tail_mean(0.99)) == (0, 0, 0, 0)
    assert year.cdf(0) == 1


def test_what_is_certain_is_certain():
    year = annual_loss([1.0, 1.0, 0.5], [10.0, 20.0, 5.0])
    assert year.cdf([29, 30, 34, 35]) == pytest.approx([0, 0.5, 0.5, 1])


def test_the_order_of_a_book_does_not_matter(book):
    chance, loss, weight = book(13, outcomes=2, most=0.3)
    order = np.random.default_rng(0).permutation(len(chance))
    one, other = annual_loss(chance, loss, weight), annual_loss(chance[order], loss[order], weight[order])
    np.testing.assert_allclose(one.pmf, other.pmf, atol=1e-15)


def test_the_same_book_gives_the_same_bytes(book):
    chance, loss, weight = book(17, risks=500, outcomes=3, most=0.3)
    assert annual_loss(chance, loss, weight).pmf.tobytes() == annual_loss(chance, loss, weight).pmf.tobytes()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (([1.2], [1.0]), "probability must lie in .0, 1., got 1.2 at position 0"),
        (([-0.1], [1.0]), "must be 0 or more and finite, got -0.1"),
        (([np.nan], [1.0]), "must be 0 or more and finite, got nan"),
        (([0.1], [-1.0]), "loss must be 0 or more"),
        (([0.1, 0.2], [1.0]), "for n = 2 risks, got shape .1,."),
        (([0.1, 0.2], [[1.0, 2.0], [1.0, 2.0]]), "needs weight"),
        (([0.1], [[1.0, 2.0]], [[0.5, 0.4]]), "weight must add to 1 for each risk, got 0.9 at row 0"),
        (([0.1], [[1.0, 2.0]], [[1.0]]), "weight must have the shape of loss"),
        (([0.1], [1.0], None, 0.0), "step must be above 0, got 0"),
        (([0.5], [1e9], None, 1.0), "step 1 needs .* points, of at most 4,194,304"),
    ],
)
def test_what_is_not_a_book_is_refused(arguments, says):
    with pytest.raises(ParameterError, match=says):
        annual_loss(*arguments)


def test_counts_are_whole():
    with pytest.raises(ParameterError, match="count must be 1 whole numbers"):
        annual_loss([0.1], [1.0], count=[1.5])
