"""Advice on intervals in words: what it caps, what it leaves to money, and how it is said."""

import numpy as np
import pytest

from riskmodel.plan.intervals.best_age import best_age
from riskmodel.plan.intervals.wearing import Wear
from riskmodel.plan.intervals.words import (
    BY_CONDITION,
    NO_AGE,
    LookMoney,
    beside_age,
    capped_age,
    capped_look,
    condition_age,
    every,
    free_age,
    free_look,
)
from riskmodel.trade import load_trade


def best_of(shape, scale, failure):
    return best_age(Wear(np.array([shape]), np.log([scale]), np.ones(1)), 1.0, failure)


NONE, SOON, LATE = best_of(1.0, 10.0, 9.0), best_of(4.0, 6.0, 50.0), best_of(4.0, 40.0, 50.0)


def looks(best, half=0.5, double=0.5, worth=1.0):
    return LookMoney(best, half, double, 20.0, worth)


def test_a_capped_class_without_an_age_keeps_the_makers():
    advice = capped_age(NONE, 7.0)
    assert (advice.years, advice.words) == (7.0, NO_AGE)
    assert NO_AGE == "money alone gives no age; keep the maker's interval"


def test_a_free_class_without_an_age_runs_to_failure_and_says_why():
    advice = free_age(NONE, 7.0, 2.1)
    assert advice.years == np.inf
    assert advice.words.startswith("run to failure: a failure costs 2.1 times a renewal in time")


@pytest.mark.parametrize("best", [NONE, SOON, LATE])
@pytest.mark.parametrize("limit", [1.0, 5.0, 30.0])
def test_capped_advice_never_passes_the_limit(best, limit):
    advice = capped_age(best, limit)
    assert advice.years <= limit
    assert "run to failure" not in advice.words


def test_a_capped_class_that_money_would_leave_longer_is_told_so():
    advice = capped_age(LATE, 5.0)
    assert advice.years == 5.0
    assert "the renewal age of 5.0 stands" in advice.words
    # How flat it is beyond the limit is nobody's business.
    assert "flat" not in advice.words


def test_a_free_class_is_told_what_the_trades_age_costs():
    advice = free_age(LATE, 2.0, 50.0)
    assert advice.years == LATE.age
    assert "the trade's 2.0 costs" in advice.words
    assert "costs" not in free_age(SOON, SOON.age, 50.0).words


@pytest.mark.parametrize(
    ("best", "typical", "age", "words"),
    [
        (NONE, 57.0, np.nan, "money alone gives no age"),
        (LATE, 5.0, np.nan, "money alone would wait until"),
        (SOON, 57.0, SOON.age, "and by money at"),
    ],
)
def test_where_nobody_publishes_an_age_the_condition_decides(best, typical, age, words):
    advice = condition_age(best, typical)
    assert advice.years == pytest.approx(age, nan_ok=True)
    assert advice.words.startswith(BY_CONDITION)
    assert words in advice.words
    assert "57" not in advice.words
    assert "run to failure" not in advice.words


def test_a_free_class_without_a_published_age_is_told_so():
    advice = free_age(LATE, np.nan, 50.0)
    assert advice.years == LATE.age
    assert "no renewal age is published" in advice.words
    assert "the trade's" not in advice.words


def test_a_flat_optimum_is_called_flat():
    assert "flat" in free_age(best_of(1.6, 10.0, 4.0), 8.0, 4.0).words
    assert "flat" not in free_age(SOON, 2.4, 50.0).words


@pytest.mark.parametrize("best", [0.25, 1.0, 3.0, np.inf])
def test_capped_looks_are_never_rarer_than_the_trades(best):
    assert capped_look(looks(best), 0.5).years <= 0.5
    assert capped_look(looks(best), np.inf).years == best


def test_looks_that_money_does_not_ask_for_say_why():
    assert (
        capped_look(looks(np.inf), 0.5).words
        == "money alone gives no look; keep to the trade's, twice a year"
    )
    assert (
        capped_look(looks(2.0), 1.0).words
        == "money alone would look every 2 years; keep to the trade's, yearly"
    )
    words = free_look(looks(np.inf, worth=-3.0)).words
    assert words == "money alone gives no look: one costs 20 and is worth 0; glance at it when you are there"


def test_looks_that_hardly_matter_are_called_flat():
    assert free_look(looks(1.0, 0.05, 0.09)).words.endswith("flat: half or twice as often costs hardly more")
    assert free_look(looks(1.0, 0.05, 0.2)).words == "look yearly"


@pytest.mark.parametrize(
    ("interval", "words"),
    [
        (0.02, "weekly"),
        (1 / 12, "monthly"),
        (0.25, "4 times a year"),
        (0.5, "twice a year"),
        (1, "yearly"),
        (2.0, "every 2 years"),
        (1.414, "every 1.4 years"),
    ],
)
def test_intervals_are_said_as_people_say_them(interval, words):
    assert every(interval) == words


def test_habits_and_running_hours_are_told_beside_the_age():
    classes = load_trade().classes
    packing = beside_age(SOON, classes["shaft_packing"])
    assert "yearly, because the boat is out, is a habit beyond what money asks for" in packing
    assert "or at 200 to 600 running hours, whichever comes first" in packing
    assert beside_age(SOON, classes["bellows_drive"]) == ""
    assert "costs hardly more" in beside_age(best_of(3.0, 3.0, 20.0), classes["shaft_packing"])
