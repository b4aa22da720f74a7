"""What a distribution of losses says of itself."""

import dataclasses

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure import LossDistribution, annual_loss

DIE = LossDistribution(mean=35.0, sd=17.07825, pmf=np.full(6, 1 / 6), step=10.0, start=10.0)


def test_the_curve_steps_at_its_points():
    assert DIE.cdf([9.99, 10, 19.99, 35, 60, 1000]) == pytest.approx([0, 1 / 6, 1 / 6, 0.5, 1, 1])
    assert DIE.exceedance([0, 10, 59.9, 60, 1e9]) == pytest.approx([1, 5 / 6, 1 / 6, 0, 0], abs=1e-15)


def test_a_point_is_at_itself_whatever_its_last_digit():
    tenths = LossDistribution(0.3, 0.1, np.full(8, 0.125), 0.1)
    assert tenths.cdf(np.arange(8) * 0.1) == pytest.approx(np.arange(1, 9) / 8)
    assert tenths.cdf([0.1 * 3, 0.3, 0.7]) == pytest.approx([0.5, 0.5, 1])


def test_the_quantile_is_the_least_loss_not_exceeded_with_its_chance():
    assert DIE.quantile([0.1, 1 / 6, 0.17, 0.5, 0.51, 0.99]) == pytest.approx([10, 10, 20, 30, 40, 60])


def test_numbers_in_numbers_out():
    assert DIE.quantile(0.5) == 30
    assert np.ndim(DIE.cdf(20.0)) == np.ndim(DIE.tail_mean(0.5)) == 0
    assert DIE.cdf(np.zeros((2, 3))).shape == (2, 3)


def test_the_coherent_tail_mean_takes_part_of_a_point():
    # The worst quarter: all sixes, and half as many fives as there are.
    assert DIE.tail_mean(0.75) == pytest.approx((60 / 6 + 50 / 12) / 0.25)
    assert DIE.tail_mean_beyond(0.75) == pytest.approx(60)
    assert DIE.tail_mean(1 - 1e-9) == pytest.approx(60)
    assert DIE.tail_mean_beyond(0.99) == 60


def test_tail_means_are_at_least_the_quantile_and_rise():
    year = annual_loss(np.full(30, 0.05), np.arange(30.0), step=1)
    level = np.linspace(0.01, 0.999, 60)
    assert (year.tail_mean(level) >= year.quantile(level)).all()
    assert (year.tail_mean_beyond(level) >= year.tail_mean(level) - 1e-9).all()
    assert (np.diff(year.tail_mean(level)) >= -1e-9).all()


def test_the_tail_mean_is_subadditive():
    one = annual_loss([0.04], [100.0])
    both = annual_loss([0.04, 0.04], [100.0, 100.0])
    # The quantile is not: each alone is 0 at 95 %, both together 100.
    assert one.quantile(0.95) == 0
    assert both.quantile(0.95) == 100
    assert both.tail_mean(0.95) <= 2 * one.tail_mean(0.95)


def test_expected_excess_falls_from_the_mean_to_nothing():
    assert DIE.expected_excess([0, 25, 60, 70]) == pytest.approx([35, (5 + 15 + 25 + 35) / 6, 0, 0])
    amounts = np.linspace(0, 80, 100)
    assert (np.diff(DIE.expected_excess(amounts)) <= 1e-12).all()


def test_the_curve_by_return_period_is_the_quantile():
    assert DIE.curve([2, 6, 100]) == pytest.approx(DIE.quantile([1 / 2, 5 / 6, 0.99]))


def test_small_chances_keep_their_digits():
    pmf = np.array([1 - 1e-9 - 1e-14, 1e-9, 1e-14])
    tail = LossDistribution(0, 0, pmf, 1.0)
    assert tail.exceedance([0, 1]) == pytest.approx([1e-9 + 1e-14, 1e-14], rel=1e-12)


def test_it_is_frozen_and_shows_itself():
    with pytest.raises(dataclasses.FrozenInstanceError):
        DIE.mean = 1.0
    page = DIE._repr_html_()
    assert "mean 35, standard deviation 17" in page
    assert "once in" in page
    assert "<td>200</td><td>60</td>" in page


@pytest.mark.parametrize("wrong", [0.0, 1.0, -0.1, np.nan])
def test_levels_lie_inside_0_and_1(wrong):
    for ask in (DIE.quantile, DIE.tail_mean, DIE.tail_mean_beyond):
        with pytest.raises(ParameterError, match="probability must lie between 0 and 1"):
            ask(wrong)
