"""What a fleet's records teach beyond single classes, said where there is something to say and not otherwise."""

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.lots import learn_lot
from riskmodel.report.lives_taught import MOVED, SHARPENED, taught

HOSE = {"item_class": "raw_water_hose", "installed_on": "2016-05-01"}
IMPELLER = {"item_class": "raw_water_impeller", "installed_on": "2023-05-01"}
BOATS = ({"records_from": "2016-01-01"},)
SEEN = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}


def failed(number, date="2022-05-01"):
    return {"item_id": f"I{number}", "date": date, "event": "failed", "finding": "failed"}


@pytest.fixture(scope="module")
def two(assessed):
    """Two hoses, one of which failed."""
    return assessed([HOSE, HOSE], [SEEN, failed(0)], BOATS)


def said(lives, trade):
    return [" ".join(each.split()) for each in taught(lives, trade)]


def with_factors(found, shift, sd):
    ageing = found.lives.ageing
    factors = len(ageing.factors)
    same = replace(ageing, shift=np.full(factors, shift), sd=np.full(factors, sd))
    return said(replace(found.lives, ageing=same), found.trade)


def with_lot(found, lot):
    lives = replace(found.lives, lots={("raw_water_hose", "L-7"): lot})
    return [each for each in said(lives, found.trade) if each.startswith("Lot")]


def test_without_a_failure_the_trades_reading_stands(assessed):
    found = assessed([HOSE], [SEEN], BOATS)
    (only,) = said(found.lives, found.trade)
    assert only.endswith("the trade's reading stands.")


def test_one_failure_is_one_failure_and_the_factor_is_the_pooled_one(two):
    first = said(two.lives, two.trade)[0]
    low, middle, high = two.lives.pooled.factor
    assert "from 1 recorded failure, lives in this fleet run" in first
    assert f"run {middle:.2g} times those" in first
    assert f"(90 %: {low:.2g} to {high:.2g})" in first


def test_several_failures_are_counted(assessed):
    found = assessed([HOSE] * 3, [SEEN, failed(0), failed(1)], BOATS)
    assert "from 2 recorded failures, lives" in said(found.lives, found.trade)[0]


def test_surroundings_that_taught_nothing_are_passed_over(two):
    assert not [each for each in with_factors(two, MOVED / 2, 1.0) if each.startswith("Surroundings")]


@pytest.mark.parametrize(
    ("shift", "side"), [(1.24, "toward the faster end"), (-1.24, "toward the slower end")]
)
def test_surroundings_that_moved_are_said_with_their_side_and_doubt(two, shift, side):
    lines = [each for each in with_factors(two, shift, 0.9) if each.startswith("Surroundings")]
    assert len(lines) == len(two.lives.ageing.factors)
    assert f"move ageing 1.2 of the judged doubt {side}, and leave 90 % of that doubt" in lines[0]
    assert lines[0].startswith(f"Surroundings, {two.lives.ageing.factors[0]}:")


def test_surroundings_that_were_only_sharpened_are_said(two):
    assert len(with_factors(two, 0.0, SHARPENED / 2)) == 1 + len(two.lives.ageing.factors)


def test_a_class_of_two_clocks_says_both_and_how_far_they_are_apart(assessed):
    found = assessed([IMPELLER] * 4, [SEEN, failed(0, "2025-05-01")], BOATS)
    (line,) = [each for each in said(found.lives, found.trade) if "running hours" in each]
    both = found.lives.clocks["raw_water_impeller"]
    assert line.startswith("Raw-water pump impeller goes by years and by running hours: 10 % by ")
    assert f"10 % by {float(both.by_hours.quantile(0.1).age):.0f} hours" in line
    assert f"(correlation {both.correlation:.2f})" in line


@pytest.mark.parametrize(
    ("correlation", "words"),
    [(0.97, "the records cannot tell them apart"), (0.2, "apart enough to be told apart")],
)
def test_clocks_that_run_together_are_said_to(assessed, correlation, words):
    found = assessed([IMPELLER], [SEEN], BOATS)
    clocks = {name: replace(both, correlation=correlation) for name, both in found.lives.clocks.items()}
    assert words in " ".join(said(replace(found.lives, clocks=clocks), found.trade))


def test_a_lot_is_held_against_what_was_expected_of_it(two):
    lot = learn_lot(3, 1.04, 0.4)
    (line,) = with_lot(two, lot)
    assert line.startswith("Lot L-7 of raw-water hose: 3 failures where 1 were to be expected;")
    # Gamma worth 1 / 0.4**2 = 6.25: (6.25 + 3) / (6.25 + 1.04) = 1.27.
    assert "taken to fail 1.3 times as often" in line


@pytest.mark.parametrize(
    ("failures", "expected", "words"),
    [
        (1, 0.02, "1 failure where 0.02"),
        (130, 140.2, "130 failures where 140"),
        (1 / 3, 0.5, "0.33 failures where"),
    ],
)
def test_counts_of_a_lot_are_said_in_plain_figures(two, failures, expected, words):
    (line,) = with_lot(two, learn_lot(failures, expected, 0.4))
    assert words in line


def test_a_lot_that_did_nothing_unusual_is_passed_over(two):
    assert with_lot(two, learn_lot(0, 0.4, 0.4)) == []
    assert len(with_lot(two, learn_lot(0, 2.0, 0.4))) == 1


def test_the_demo_says_nothing_wider_than_eighty_columns(demo):
    lines = taught(demo.lives, demo.trade)
    assert lines[0].startswith("The fleet as a whole")
    assert max(len(line) for each in lines for line in each.splitlines()) <= 80
