"""Damage that grows while nobody sees it: its line, its mean when seen, and the share of a deck it takes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.slow.growth import Growth, chance_damaged, expected_damage, grown
from riskmodel.consequence.slow.undetected import Looks, still_hidden
from riskmodel.consequence.slow.wetting import share_of_deck_repair

DELAY = st.floats(0.0, 24.0)
LEAST = st.floats(0.0, 0.3)
RATE = st.floats(1e-3, 0.5)
MOST = st.floats(0.01, 2.0)


def growth(delay=2.0, least=0.05, a_month=0.1, most=0.4):
    return Growth(*(np.array(value) for value in (delay, least, a_month, most)))


def looks(every=6.0, chance=0.4, rate=0.05):
    return Looks(np.array(every), np.array(chance), np.array(rate))


def test_damage_waits_starts_with_its_least_bill_grows_and_stops():
    months = np.array([0.0, 1.9, 3.0, 5.0, 6.0, 100.0])
    assert grown(months, growth()) == pytest.approx([0.0, 0.0, 0.15, 0.35, 0.45, 0.45])


def test_the_mean_when_seen_agrees_with_simulation():
    rng = np.random.default_rng(21)
    count = 300_000
    by_look = rng.uniform(0.0, 6.0, count) + 6.0 * (rng.geometric(0.4, count) - 1)
    seen = np.minimum(by_look, rng.exponential(20.0, count))
    damage = grown(seen, growth())
    assert float(expected_damage(growth(), looks())) == pytest.approx(damage.mean(), rel=0.01)
    assert float(chance_damaged(growth(), looks())) == pytest.approx((damage > 0).mean(), rel=0.01)


def test_what_is_seen_before_its_delay_is_over_costs_nothing():
    quick = looks(every=0.1, chance=0.95, rate=50.0)
    assert float(expected_damage(growth(delay=3.0), quick)) < 1e-12


def test_what_is_never_seen_stands_at_its_most():
    never = looks(chance=0.0, rate=0.0)
    assert float(expected_damage(growth(), never)) == pytest.approx(0.05 + 0.4)


def test_damage_has_begun_when_the_delay_is_over_and_it_is_still_unseen():
    assert chance_damaged(growth(delay=9.0), looks()) == still_hidden(np.array(9.0), looks())


@given(st.tuples(st.floats(0, 600), st.floats(0, 600)), DELAY, LEAST, RATE, MOST)
def test_longer_unseen_never_lowers_the_damage(both, delay, least, a_month, most):
    early, late = grown(np.sort(np.array(both)), growth(delay, least, a_month, most))
    assert early <= late <= least + most


@given(DELAY, LEAST, st.tuples(RATE, RATE), MOST)
def test_quicker_growth_never_lowers_the_mean(delay, least, rates, most):
    slow, quick = (expected_damage(growth(delay, least, each, most), looks()) for each in sorted(rates))
    assert slow <= quick * (1 + 1e-9)


@given(st.tuples(DELAY, DELAY), LEAST, RATE, MOST)
def test_a_longer_delay_never_raises_the_mean(delays, least, a_month, most):
    short, long = (expected_damage(growth(each, least, a_month, most), looks()) for each in sorted(delays))
    assert long <= short * (1 + 1e-9)


@given(DELAY, LEAST, RATE, st.tuples(MOST, MOST))
def test_more_to_spoil_never_lowers_the_mean(delay, least, a_month, mosts):
    small, large = (expected_damage(growth(delay, least, a_month, each), looks()) for each in sorted(mosts))
    assert small <= large * (1 + 1e-9)


@given(st.tuples(st.floats(0.0, 0.95), st.floats(0.0, 0.95)), DELAY, RATE)
def test_a_better_look_never_raises_the_mean(chances, delay, a_month):
    here = growth(delay=delay, a_month=a_month)
    worse, better = (expected_damage(here, looks(chance=each)) for each in sorted(chances))
    assert better <= worse * (1 + 1e-9)


@given(DELAY, LEAST, RATE, MOST)
def test_the_mean_lies_between_the_least_bill_and_the_most(delay, least, a_month, most):
    here = growth(delay, least, a_month, most)
    chance = float(chance_damaged(here, looks()))
    mean = float(expected_damage(here, looks()))
    assert chance * least <= mean * (1 + 1e-9)
    assert mean <= chance * (least + most) * (1 + 1e-9)


def test_a_square_metre_is_a_smaller_share_of_a_longer_deck():
    share = share_of_deck_repair(np.array(1.0), np.array([8.0, 16.0]), np.array(0.5))
    assert share == pytest.approx([0.25, 0.125])
