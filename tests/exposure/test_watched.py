"""The time and the days on which claims of boats are looked for: policies, lay-ups, equal boats."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskmodel.exposure.book import book_of
from riskmodel.exposure.claims import recalibration
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.doubt import doubt_of
from riskmodel.exposure.watched import watched

FIRST, UNTIL = date(2020, 6, 1), date(2027, 6, 1)


@pytest.fixture(scope="module")
def told(assessed, two_boats):
    """Makes the small fleet with claims, visits that nobody told, and what columns of its vessels table say."""
    boats = [boat | {"checked_every_days": ""} for boat in two_boats["boats"]]
    two = assessed(**two_boats | {"boats": boats}, until=UNTIL)
    claims = pd.DataFrame({"vessel_id": ["B1", "B2"], "cause": "rot", "gross": 900.0, "paid": np.nan})
    claims["loss_on"] = pd.Timestamp("2024-05-02")
    settings = replace(two.fleet.settings, claims_from=FIRST)

    def make(**said):
        vessels = two.fleet.vessels.assign(**said)
        fleet = replace(two.fleet, vessels=vessels, claims=claims, settings=settings)
        return replace(two, learned=replace(two.learned, fleet=fleet))

    return make


def test_a_boat_is_watched_while_her_policy_is_on_risk_and_claims_of_other_days_are_no_part_of_it(told):
    inception, expiry = (pd.to_datetime(days) for days in (["2025-06-01", None], [None, "2024-05-02"]))
    seen = watched(told(inception=inception, expiry=expiry).fleet, Policy())
    np.testing.assert_allclose(seen.years, [365 / 365.25, 1431 / 365.25])
    assert (seen.claims["counts"].tolist(), seen.outside) == ([False, False], 2)


def test_a_renewed_policy_is_watched_since_the_boat_was_first_insured(told):
    since = pd.to_datetime(["2024-06-01", None])
    seen = watched(told(inception=pd.Timestamp("2026-03-01"), insured_since=since).fleet, Policy())
    np.testing.assert_allclose(seen.years, [730 / 365.25, 92 / 365.25])


def test_equal_boats_are_watched_together(told):
    seen = watched(told(boats=[1, 30]).fleet, Policy())
    assert seen.years[1] == pytest.approx(30 * seen.years[0])


def expected(result):
    return recalibration(result, book_of(result, doubt_of(result)), Policy()).told


def test_a_lay_up_leaves_fewer_claims_to_expect_and_a_policy_that_ends_no_fewer(told):
    usual = expected(told())
    laid_up = expected(told(lay_up_from="01-01", lay_up_to="12-31"))
    ending = expected(told(expiry=pd.Timestamp("2026-12-01")))
    assert laid_up["loss_of_holding"].expected == 0
    assert laid_up["machinery_damage"].expected == usual["machinery_damage"].expected
    for name in ("machinery_damage", "loss_of_holding"):
        assert ending[name].expected == usual[name].expected > 0


def test_claims_tell_of_the_doubt_whatever_the_time_ahead(told):
    """Over three months as over a year, what is expected of a year has the doubt of visits that nobody told in it."""
    result = told()
    book = book_of(result, doubt_of(result))
    sharp = recalibration(result, book_of(result), Policy()).told["sinking"]
    with_doubt = recalibration(result, book, Policy()).told["sinking"]
    quarter = replace(result, horizon=replace(result.horizon, until=date(2026, 9, 1)))
    found = recalibration(quarter, book, Policy()).told["sinking"]
    assert with_doubt.frequency.credibility > sharp.frequency.credibility
    assert found.frequency.credibility == pytest.approx(with_doubt.frequency.credibility, rel=1e-6)
