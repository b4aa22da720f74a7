"""The year's largest single loss, exact for outcomes, beside the aggregate."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.exposure import (
    annual_loss,
    annual_probability,
    factor_chances,
    largest_loss,
    largest_loss_at_nodes,
    lognormal_factor,
    node_chances,
    return_period,
)
from riskmodel.exposure.largest import occurrence_exceedance, poisson_largest_loss


@pytest.mark.parametrize("outcomes", [1, 3])
def test_it_is_that_of_every_possible_year(book, every_year, outcomes):
    chance, loss, weight = book(2, risks=6, outcomes=outcomes, most=0.9, largest=12)
    found = largest_loss(chance, loss, weight)
    years = list(every_year(chance, loss, weight))
    for amount in (0, 1, 4.5, 8, 11, 12):
        exact = sum(p for p, losses in years if losses.max() > amount)
        assert found.exceedance(amount) == pytest.approx(exact, abs=1e-13)
    assert found.mean == pytest.approx(sum(p * losses.max() for p, losses in years), rel=1e-11)


@given(st.integers(0, 1000), st.floats(0, 40))
@settings(max_examples=50, deadline=None)
def test_the_largest_loss_never_exceeds_the_total(book, seed, amount):
    chance, loss, weight = book(seed, outcomes=2, most=0.2)
    assert (
        largest_loss(chance, loss, weight).exceedance(amount)
        <= annual_loss(chance, loss, weight, 1).exceedance(amount) + 1e-12
    )


def test_one_boat_is_its_own_total():
    one = largest_loss([0.3], [[5.0, 20.0]], [[0.75, 0.25]])
    assert one.exceedance([0, 4, 5, 20]) == pytest.approx([0.3, 0.3, 0.075, 0])
    assert one.quantile([0.5, 0.8, 0.95]) == pytest.approx([0, 5, 20])
    assert one.curve([2, 20]) == pytest.approx([0, 20])


def test_counts_stand_for_rows(book):
    chance, loss, weight = book(3, risks=8, outcomes=2, most=0.5)
    count = np.arange(1, 9)
    rows = np.repeat(np.arange(8), count)
    one = largest_loss(chance, loss, weight, count=count)
    other = largest_loss(chance[rows], loss[rows], weight[rows])
    np.testing.assert_allclose(one.exceedance(np.arange(30)), other.exceedance(np.arange(30)), atol=1e-13)


def test_small_chances_keep_their_digits():
    rare = largest_loss([1e-14, 1e-9], [100.0, 50.0])
    assert rare.exceedance([60, 10]) == pytest.approx([1e-14, 1e-9 + 1e-14], rel=1e-9)


def test_a_certain_loss_leaves_no_smaller_one():
    sure = largest_loss([1.0, 0.25], [10.0, 40.0])
    assert sure.exceedance([0, 9, 10, 40]) == pytest.approx([1, 1, 0.25, 0])


def test_over_nodes_it_is_the_average(book):
    chance, loss, weight = book(5, outcomes=2)
    nodes = factor_chances(chance, lognormal_factor(0.5, 9))
    found = largest_loss_at_nodes(nodes, loss, weight)
    each = [largest_loss(column, loss, weight).exceedance(np.arange(30)) for column in nodes.chance.T]
    np.testing.assert_allclose(found.exceedance(np.arange(30)), nodes.weight @ each, atol=1e-13)


def test_a_shared_factor_makes_a_large_loss_rarer():
    # Losses crowd into bad years: more of them are then not the only one.
    chance, loss = np.full(500, 0.004), np.full(500, 1.0)
    nodes = factor_chances(chance, lognormal_factor(1.0, 64))
    assert largest_loss_at_nodes(nodes, loss).exceedance(0) < largest_loss(chance, loss).exceedance(0)


def test_poisson_numbers_are_the_limit_of_many_small_chances():
    few = poisson_largest_loss(2.0, [1.0, 2.0], [0.6, 0.4])
    many = largest_loss(
        np.full(1_000_00, 2e-5), np.tile([1.0, 2.0], (100_000, 1)), np.tile([0.6, 0.4], (100_000, 1))
    )
    assert few.exceedance([0, 1, 2]) == pytest.approx([1 - np.exp(-2), 1 - np.exp(-0.8), 0])
    assert many.exceedance([0, 1, 2]) == pytest.approx(few.exceedance([0, 1, 2]), rel=1e-4, abs=1e-15)
    assert occurrence_exceedance(2.0, [1.0, 0.4]) == pytest.approx(few.exceedance([0, 1]))


def test_return_periods_turn_both_ways():
    years = np.array([1, 10, 250.0])
    assert return_period(annual_probability(years)) == pytest.approx(years)
    assert return_period(0.0) == np.inf


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: return_period(1.5), r"exceedance must lie in .0, 1., got 1.5"),
        (lambda: annual_probability(0.5), "return period must be 1 year or more, got 0.5"),
        (lambda: largest_loss([0.1], [1.0]).exceedance(-1.0), "x must be 0 or more"),
        (lambda: largest_loss([0.1], [1.0]).quantile(1.0), "must lie between 0 and 1"),
        (lambda: largest_loss([1.1], [1.0]), "probability must lie in"),
        (lambda: largest_loss_at_nodes(node_chances([[0.1]], [1.0]), [1.0, 2.0]), "for n = 1 risks"),
    ],
)
def test_what_has_no_largest_loss_is_refused(make, says):
    with pytest.raises(ParameterError, match=says):
        make()
