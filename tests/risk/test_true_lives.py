"""The demo's lives come from true lives that are written down: how near do the estimates come?"""

import csv
from importlib.resources import files

import numpy as np
import pytest


@pytest.fixture(scope="module")
def truths(demo):
    """Per class the true age by which 10 % let go, and what was believed before and after the records."""
    text = files("riskmodel.data.demo").joinpath("true_lives.csv").read_text("utf-8")
    told = {}
    for row in csv.DictReader(text.splitlines()):
        name, shape, scale = row["item_class"], float(row["shape"]), float(row["scale_years"])
        if name in demo.lives.posterior:
            age = scale * (-np.log(0.9)) ** (1 / shape)
            told[name] = (age, demo.lives.prior[name].quantile(0.1), demo.lives.posterior[name].quantile(0.1))
    return told


def test_most_classes_have_a_written_truth(truths, demo):
    assert set(truths) == set(demo.lives.posterior)
    assert len(truths) >= 30


def test_at_least_seven_in_ten_bands_hold_the_truth(truths):
    held = [now.lower <= age <= now.upper for age, _, now in truths.values()]
    assert np.mean(held) >= 0.7


def test_the_middle_estimate_is_within_a_fifth_of_the_truth(truths):
    errors = [abs(np.log(now.age / age)) for age, _, now in truths.values()]
    assert np.median(errors) < 0.2


def test_records_narrow_what_was_believed(truths):
    narrower = [
        np.log(now.upper / now.lower) < np.log(before.upper / before.lower)
        for _, before, now in truths.values()
    ]
    assert np.mean(narrower) > 0.9


def test_records_bring_the_estimates_nearer_on_the_whole(truths):
    before, after = (
        np.mean([np.log(each[place].age / each[0]) ** 2 for each in truths.values()]) for place in (1, 2)
    )
    assert after < before


def test_no_class_of_the_demo_contradicts_its_trade_interval_wildly(demo):
    # The truths are drawn within the prior, so a conflict would be a fault of the arithmetic.
    assert sum(life.conflict for life in demo.lives.posterior.values()) <= 1
