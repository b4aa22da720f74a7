"""Fits at a flat prior against published life data: the mode is the maximum-likelihood fit others printed.

Reference fits, unless a check says otherwise: survreg of the R package survival 3.5-3 (R 4.2.2).
"""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.likelihood import log_likelihood
from riskmodel.life.tally import tally_rows


def published(name):
    with files("riskmodel.data.reference").joinpath(f"{name}.csv").open("r", encoding="utf-8") as table:
        return pd.read_csv(table)


def exact_or_censored(age, failed, **more):
    return LifeRows(age, np.where(failed, age, np.inf), **more)


def flat_fit(rows):
    """(shape, scale, log-likelihood) at the most probable point."""
    shape, scale = fit_life(rows, WeibullPrior.flat()).mode
    return shape, scale, log_likelihood(tally_rows(rows), shape, scale)


def assert_fit(rows, shape, scale, height=None):
    found = flat_fit(rows)
    assert found[:2] == pytest.approx((shape, scale), rel=1e-5)
    if height is not None:
        assert found[2] == pytest.approx(height, abs=1e-6)


def test_complete_lives_of_ball_bearings():
    # Lieblein and Zelen 1956.
    ages = published("ball_bearings")["megacycles"]
    assert len(ages) == 23
    assert_fit(LifeRows(ages, ages), 2.10184686, 81.87455872, -113.69195909)


def test_right_censored_lives_of_shock_absorbers():
    # O'Connor 1985; Meeker and Escobar, ch. 15.
    table = published("shock_absorbers")
    rows = exact_or_censored(table["miles"], table["event"] == "Failure")
    assert (rows.failures, rows.survivors) == (11, 27)
    assert_fit(rows, 3.16047031, 27718.71812852, -123.99536119)


@pytest.mark.parametrize(
    ("mode", "shape", "scale"),
    [("Mode1", 3.38394623, 31205.79793673), ("Mode2", 2.82221103, 40865.86122213)],
)
def test_one_way_of_failing_with_the_other_censored(mode, shape, scale):
    # O'Connor 1985; Meeker and Escobar, ch. 15.
    table = published("shock_absorbers")
    assert_fit(exact_or_censored(table["miles"], table["mode"] == mode), shape, scale)


def test_heavily_censored_counted_lives_of_generator_fans():
    # Nelson 1982: 12 of 70 failed.
    table = published("generator_fans")
    rows = exact_or_censored(table["hours"], table["event"] == "Fail", count=table["count"])
    assert (rows.failures, rows.failures + rows.survivors) == (12, 70)
    assert_fit(rows, 1.05844585, 26296.84517482, -135.15271994)


@pytest.mark.parametrize(
    ("group", "shape", "scale", "height"),
    [(1, 1.120410137, 57.52453329, -64.59213928), (2, 2.144986764, 27.92517898, -81.60920295)],
)
def test_interval_censored_lives_of_two_treatment_groups(group, shape, scale, height):
    # Finkelstein and Wolfe 1985; Klein and Moeschberger.
    table = published("breast_cosmesis").query("treat == @group")
    rows = LifeRows(table["lower"], table["upper"].fillna(np.inf))
    assert_fit(rows, shape, scale, height)


TURNBULL_AGES = [5, 7, 8, 12, 25, 34, 40]
TURNBULL_STEPS = [0.953653, 0.920290, 0.831622, 0.760870, 0.668224, 0.586438, 0.465558]


def test_survival_of_the_first_treatment_group_stays_near_the_curve_without_a_shape():
    # Turnbull's steps, R survival; a two-parameter curve on 46 lives cannot follow them more closely.
    table = published("breast_cosmesis").query("treat == 1")
    life = fit_life(LifeRows(table["lower"], table["upper"].fillna(np.inf)), WeibullPrior.flat())
    assert life.survival(TURNBULL_AGES) == pytest.approx(TURNBULL_STEPS, abs=0.07)


def test_late_entry_of_the_men_of_channing_house():
    # Klein and Moeschberger; fit by scipy, to which lifelines 0.30.3 and surpyval 0.25 agree to 1e-6.
    table = published("channing_house").query("gender == 1 and age > ageentry")
    rows = exact_or_censored(table["age"], table["death"] == 1, entry=table["ageentry"])
    assert_fit(rows, 6.28010255, 968.839655, -274.75089740)


def test_men_of_channing_house_who_left_as_they_came_tell_nothing_and_are_counted():
    table = published("channing_house").query("gender == 1")
    without = table.query("age > ageentry")
    same = (table["age"] == table["ageentry"]) & (table["death"] == 0)
    assert len(table) - len(without) == same.sum() > 0
    with pytest.warns(UserWarning, match=f"{same.sum()} rows without exposure left out"):
        rows = exact_or_censored(table["age"], table["death"] == 1, entry=table["ageentry"])
    assert len(rows) == len(without)


@pytest.mark.parametrize(
    ("pumps", "shape", "scale"),
    [
        (["A_primary"], 4.43, 28_860),
        (["B_standby"], 2.42, 7_858),
        (["A_primary", "B_standby"], 1.52, 18_473),
    ],
)
def test_pump_seals(pumps, shape, scale):
    # A published worked Weibull example; the maximum-likelihood values are our own of old, rounded as given.
    table = published("pump_seal_ages")
    ages = table.loc[table["pump"].isin(pumps), "age_hours"]
    found = fit_life(LifeRows(ages, ages), WeibullPrior.flat()).mode
    assert found[0] == pytest.approx(shape, abs=0.005)
    assert found[1] == pytest.approx(scale, abs=0.5)


def test_two_pumps_of_unlike_duty_pooled_look_less_worn_than_either():
    # What the worked example is about: a mixture hides the wear-out that each pump shows.
    table = published("pump_seal_ages")
    shapes = {name: flat_fit(LifeRows(group, group))[0] for name, group in table.groupby("pump")["age_hours"]}
    assert flat_fit(LifeRows(table["age_hours"], table["age_hours"]))[0] < min(shapes.values())


@pytest.mark.parametrize("nudge", [(1.001, 1), (0.999, 1), (1, 1.001), (1, 0.999)])
def test_no_neighbour_of_the_mode_is_likelier(nudge):
    ages = published("ball_bearings")["megacycles"]
    rows = LifeRows(ages, ages)
    shape, scale, height = flat_fit(rows)
    assert log_likelihood(tally_rows(rows), shape * nudge[0], scale * nudge[1]) < height
