"""What a cover pays of single losses: closed form against quadrature, terms by hand, and means kept on a lattice."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import lognorm

from riskmodel.exposure.payouts import Payouts, on_points, split_on

SURE = 1e-9
MONEY = st.floats(0.0, 50_000.0)


def payouts(median, log_sd, cap, inside=0.0, outside=0.0, deductible=0.0, limit=np.inf):
    return Payouts(
        *(np.array([each], dtype=float) for each in (median, log_sd, cap, inside, outside, deductible, limit))
    )


@pytest.mark.parametrize(
    ("terms", "wanted"),
    [
        ({}, 5000),
        ({"cap": 4000}, 4000),
        ({"deductible": 750}, 4250),
        ({"deductible": 9000}, 0),
        ({"limit": 3000}, 3000),
        ({"deductible": 750, "limit": 3000}, 3000),
        ({"inside": 1000, "deductible": 750}, 5250),
        ({"inside": 1000, "limit": 5200}, 5200),
        ({"outside": 1000, "deductible": 9000}, 1000),
        ({"outside": 1000, "deductible": 750, "limit": 3000}, 4000),
        ({"cap": 4000, "inside": 1000, "deductible": 500}, 4500),
    ],
)
def test_terms_by_hand_on_a_bill_of_5000(terms, wanted):
    some = payouts(5000, SURE, **({"cap": 20_000} | terms))
    assert some.paid(5000)[0] == wanted
    assert some.mean[0] == pytest.approx(wanted, rel=1e-6)
    assert some.exceedance(wanted * 1.001 + 1e-6)[0] == 0
    if wanted:
        assert some.exceedance(wanted * 0.999)[0] == 1


@pytest.mark.parametrize(
    "terms",
    [
        {},
        {"inside": 3000},
        {"outside": 3000},
        {"deductible": 500, "limit": 9000, "inside": 2000},
        {"deductible": 2500, "limit": 9000, "outside": 2000},
    ],
)
def test_the_mean_agrees_with_quadrature_of_the_exceedance(terms):
    some = payouts(6000, 1.2, 21_000, **terms)
    corners = sorted({0.0, float(some.outside[0]), float(some.most[0])})
    area = sum(
        quad(lambda x: float(some.exceedance(x)[0]), low, high, limit=400)[0]
        for low, high in pairwise(corners)
    )
    assert some.mean[0] == pytest.approx(area, rel=1e-6)


def test_the_mean_agrees_with_quadrature_over_the_bill():
    some = payouts(4000, 1.0, 15_000, inside=1200, deductible=900, limit=8000)
    bill = lognorm(1.0, scale=4000)
    found = sum(
        quad(lambda x: float(some.paid(x)[0]) * bill.pdf(x), low, high, limit=400)[0]
        for low, high in ((0.0, 7700.0), (7700.0, 15_000.0), (15_000.0, 1e7))
    )
    assert some.mean[0] == pytest.approx(found, rel=1e-7)


def test_the_limited_mean_of_a_log_normal_is_the_published_one():
    # Loss Models' worked figure: log-normal(10, 1.5), E[X limited to 50,000] = 26,163.3518551 (closed form).
    some = payouts(np.exp(10.0), 1.5, 1e12)
    assert some.mean_upto(50_000.0)[0] == pytest.approx(26_163.3518551, rel=1e-10)


@given(cap=st.floats(1000.0, 50_000.0), inside=MONEY, deductible=MONEY, limit=st.floats(100.0, 60_000.0))
def test_means_and_certainty_are_kept_on_a_lattice(cap, inside, deductible, limit):
    some = payouts(5000, 1.1, cap, inside, 0.0, deductible, limit)
    points = np.arange(np.ceil(some.most[0] / 170.0) + 2) * 170.0
    mass = on_points(some, points)
    assert mass.sum() == pytest.approx(1.0, abs=1e-9)
    assert (mass @ points)[0] == pytest.approx(some.mean[0], rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("step", [50.0, 333.0])
def test_any_loss_keeps_its_mean_and_every_expected_excess_on_a_lattice(step):
    points = step * np.arange(1001.0)
    mass = split_on(points, -1000.0 * np.expm1(-points / 1000.0))
    left_out = 1000.0 * np.exp(-points[-1] / 1000.0)
    assert mass.sum() == pytest.approx(1, abs=1e-12)
    assert points @ mass == pytest.approx(1000 - left_out, rel=1e-9)
    for point in points[[1, 5, 20]]:
        excess = np.maximum(points - point, 0) @ mass
        assert excess == pytest.approx(1000 * np.exp(-point / 1000) - left_out, rel=1e-8)


def test_what_lies_above_the_last_point_stands_on_it():
    points = 100.0 * np.arange(31.0)
    mass = split_on(points, -1000.0 * np.expm1(-points / 1000.0))
    assert mass[-1] == pytest.approx(10 * (np.exp(-2.9) - np.exp(-3)))
    assert points @ mass == pytest.approx(1000 * (1 - np.exp(-3)))


def test_up_to_nothing_nothing_is_paid():
    assert payouts(5000, 1.0, np.inf).mean_upto(0.0)[0] == 0
    assert payouts(5000, 1.0, np.inf).mean_upto(1e300)[0] == pytest.approx(5000 * np.exp(0.5))


def test_a_wider_split_has_the_same_mean_and_a_larger_spread():
    some = payouts(5000, 1.1, 30_000, inside=1000, deductible=500)
    grids = [np.arange(int(40_000 / step)) * step for step in (10.0, 100.0, 1000.0)]
    second = [float((on_points(some, each) @ each**2)[0]) for each in grids]
    assert second == sorted(second)


@given(deductible=MONEY, more=MONEY)
def test_a_higher_deductible_never_pays_more(deductible, more):
    small, large = (payouts(5000, 1.1, 30_000, 1000, 200, each) for each in (deductible, deductible + more))
    assert large.mean[0] <= small.mean[0] + 1e-7


def test_what_is_paid_lies_between_nothing_and_the_most():
    some = payouts(5000, 1.1, 30_000, inside=800, outside=300, deductible=100, limit=20_000)
    random = np.random.default_rng(1)
    drawn = some.paid(5000 * np.exp(1.1 * random.normal(size=200_000)))
    assert drawn.max() <= some.most[0]
    assert drawn.mean() == pytest.approx(some.mean[0], abs=4 * drawn.std() / np.sqrt(len(drawn)))
    for amount in (300.0, 1500.0, 9000.0, 19_999.0):
        chance = some.exceedance(amount)[0]
        assert (drawn > amount).mean() == pytest.approx(
            chance, abs=4 * np.sqrt(chance * (1 - chance) / 200_000) + 1e-9
        )
