"""Policy terms on single losses, the terms boat by boat, one total loss a year, and days on risk."""

import dataclasses
import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.needs import NEED_USE
from riskmodel.errors import ParameterError
from riskmodel.exposure import annual_loss
from riskmodel.exposure.accumulation import accumulations
from riskmodel.exposure.conditions import price_condition, read_condition
from riskmodel.exposure.cover import Policy, at_market_value, cover_of
from riskmodel.exposure.exclusive import competing
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.on_risk import (
    chance_on_risk,
    exclusive_on_risk,
    laid_up,
    on_policy,
    share_of_days,
)
from riskmodel.exposure.payouts import Payouts
from riskmodel.exposure.policy_days import policy_days
from riskmodel.exposure.segments import segments
from riskmodel.exposure.spells import scenarios_of
from riskmodel.trade import load_trade

MONEY = st.floats(0, 1e6)
SHARE = st.floats(0, 1)
YEAR = np.arange(np.datetime64("2026-01-01"), np.datetime64("2027-01-01"))
UNTIL = datetime.date(2027, 6, 1)
STATES = ("sinking_unattended", "sinking_under_way", "fire_explosion", "structural_damage")


def terms(deductible=0.0, limit=np.inf, cap=np.inf, inside=0.0, outside=0.0):
    each = (1.0, 1.0, cap, inside, outside, deductible, limit)
    return Payouts(*(np.asarray(one, dtype=float) for one in each))


def test_the_deductible_comes_off_and_the_limit_stands_above_it():
    assert terms(500, 5000).paid([0, 400, 1500, 9000]) == pytest.approx([0, 0, 1000, 5000])


def test_each_vessel_has_its_own_terms():
    found = terms([[100], [2000]], [[2000], [np.inf]]).paid([[1000, 4000], [1000, 4000]])
    np.testing.assert_allclose(found, [[900, 2000], [0, 2000]])


def test_without_terms_everything_is_paid():
    np.testing.assert_array_equal(terms().paid([3.0, 0.0, 7.0]), [3, 0, 7])


@given(MONEY, MONEY, MONEY, MONEY)
def test_more_deductible_never_pays_more_and_more_limit_never_less(bill, deductible, limit, more):
    paid = terms(deductible, limit).paid(bill)
    assert terms(deductible + more, limit).paid(bill) <= paid
    assert terms(deductible, limit + more).paid(bill) >= paid
    assert 0 <= paid <= min(bill, limit)


@given(MONEY, MONEY, MONEY, MONEY)
def test_salvage_is_worth_no_less_on_top_of_the_terms(bill, salvage, deductible, limit):
    inside = terms(deductible, limit, inside=salvage).paid(bill)
    outside = terms(deductible, limit, outside=salvage).paid(bill)
    assert terms(deductible, limit).paid(bill) <= inside <= outside + 1e-6


def test_salvage_inside_and_on_top_differ_where_the_limit_bites():
    # A wreck of 30,000 that costs 12,000 to raise, over a deductible of 1,000 and under a limit of 35,000.
    assert terms(1000, 35_000, inside=12_000).paid(30_000) == 35_000
    assert terms(1000, 35_000, outside=12_000).paid(30_000) == 41_000
    # Where neither deductible nor limit bites on what salvage costs they are one.
    assert terms(1000, 50_000, inside=2000).paid(15_000) == terms(1000, 50_000, outside=2000).paid(15_000)


def test_the_boat_herself_costs_at_most_her_value_and_salvage_comes_on_top():
    np.testing.assert_allclose(terms(cap=40_000).paid([5000, 38_000, 52_000]), [5000, 38_000, 40_000])
    assert terms(cap=40_000, inside=3000).paid(52_000) == 43_000


def test_terms_of_a_mean_are_not_the_mean_of_terms():
    loss, weight = np.array([[100.0, 10_000.0]]), np.array([[0.9, 0.1]])
    year = annual_loss([0.02], terms(500).paid(loss), weight)
    assert year.mean == pytest.approx(0.02 * 0.1 * 9500)
    assert year.mean > 0.02 * float(terms(500).paid((loss * weight).sum()))


@given(st.lists(st.floats(0, 0.999), min_size=1, max_size=6))
def test_end_states_exclude_each_other_and_come_as_often_as_any_would(alone):
    found = competing(np.array(alone)[None, :, None], range(len(alone)))[0, :, 0]
    assert found.sum() == pytest.approx(1 - np.prod(1 - np.array(alone)), abs=1e-12)
    assert (found <= np.array(alone) + 1e-12).all()


def test_a_certain_end_state_leaves_the_others_next_to_nothing():
    found = competing(np.array([[[1.0], [0.2]], [[0.0], [0.0]]]), [0, 1])[:, :, 0]
    assert found[0].sum() == pytest.approx(1)
    assert found[0, 1] < 0.01
    np.testing.assert_array_equal(found[1], 0)


@pytest.mark.parametrize(
    ("inception", "expiry", "days"),
    [
        ("NaT", "NaT", 365),
        ("2026-07-02", "NaT", 183),
        ("2025-03-01", "2026-03-01", 59),
        ("2025-01-01", "2025-12-31", 0),
        ("2027-06-01", "2028-06-01", 0),
        ("2026-01-01", "2027-01-01", 365),
    ],
)
def test_a_policy_counts_for_its_days_from_inception_to_the_day_before_expiry(inception, expiry, days):
    assert on_policy([inception], [expiry], YEAR).sum() == days


def test_a_lay_up_comes_every_year_with_both_its_days_in_it():
    days = np.arange(np.datetime64("2026-01-01"), np.datetime64("2029-01-01"))
    found = laid_up(["10-01", "03-01", "02-29", ""], ["04-01", "03-01", "02-29", ""], days)
    assert found.sum(axis=1).tolist() == [3 * (92 + 91) + 1, 3, 1, 0]
    assert days[found[2]] == np.datetime64("2028-02-29")


def test_shares_are_of_the_days_on_which_it_can_happen():
    on = np.array([[True, True, False, False]])
    assert share_of_days(on, np.array([[True, False, False, False]])) == 1
    assert share_of_days(on, np.array([[False, True, True, False]])) == 0.5
    assert share_of_days(on, np.zeros((1, 4), dtype=bool)) == 0.5


def test_half_a_year_twice_is_a_year():
    half = chance_on_risk([0.3, 1.0, 0.0], 0.5)
    np.testing.assert_allclose(1 - (1 - half) ** 2, [0.3, 1, 0])
    np.testing.assert_array_equal(chance_on_risk([0.3, 1.0], 0.0), 0)
    np.testing.assert_allclose(chance_on_risk([0.3, 1.0], 1.0), [0.3, 1])


@given(st.floats(0, 5), SHARE)
def test_a_hazard_counts_for_its_share_of_the_year(hazard, share):
    found = chance_on_risk(-np.expm1(-hazard), share)
    assert found == pytest.approx(-np.expm1(-hazard * share), abs=1e-9)


@given(st.lists(st.tuples(st.floats(0, 3), SHARE), min_size=1, max_size=4))
def test_hazards_that_exclude_each_other_keep_their_own_shares(rows):
    hazard, share = np.array(rows).T
    found = exclusive_on_risk(exclusive(hazard), share[None])
    np.testing.assert_allclose(found, exclusive(hazard * share), rtol=1e-6, atol=1e-12)
    assert found.sum() <= 1


def exclusive(hazard):
    """Chances of the first to come among constant hazards, in closed form."""
    whole = hazard.sum()
    return (hazard * (-np.expm1(-whole) / whole if whole else 0.0))[None, :, None]


@pytest.fixture(scope="module")
def insured(assessed, two_boats):
    """Makes the small fleet with what its two boats' policies say."""

    def make(first=None, second=None):
        boats = [
            boat | (extra or {}) for boat, extra in zip(two_boats["boats"], (first, second), strict=True)
        ]
        return assessed(**two_boats | {"boats": boats}, until=UNTIL)

    return make


def test_a_deductible_may_be_a_share_of_the_value_and_a_boats_own_comes_first(insured):
    result = insured({"deductible": 300, "deductible_percent": 2}, {"limit": 900})
    cover = cover_of(result, STATES, Policy(deductible=500.0, deductible_share=0.01))
    np.testing.assert_allclose(cover.deductible, [800, 600])
    np.testing.assert_allclose(cover.limit, [np.inf, 900])
    only = insured({"deductible_percent": 0.5}, {"deductible": 0})
    np.testing.assert_allclose(cover_of(only, STATES, Policy(deductible=500.0)).deductible, [200, 0])


@pytest.mark.parametrize(
    ("basis", "market"),
    [
        (["", ""], [True, True]),
        (["market", ""], [True, False]),
        (["agreed", "market"], [False, True]),
        (["agreed", ""], [False, False]),
    ],
)
def test_a_share_of_the_value_is_for_boats_at_market_value_or_for_all(basis, market):
    assert at_market_value(pd.DataFrame({"value_basis": basis})).tolist() == market


@pytest.fixture(scope="module")
def whole(insured):
    return exposure_of(insured())


def test_without_days_of_their_own_chances_are_those_that_there_were(insured, whole):
    open_ended = exposure_of(
        insured({"inception": "2026-06-01"}, {"expiry": "2027-06-01"}), Policy(deductible=1.0)
    )
    book, cover = open_ended.book, open_ended.after.part.cover
    assert np.shares_memory(book.chances(cover), book.chance)
    np.testing.assert_array_equal(book.chance, whole.book.chance)


def test_half_a_year_on_risk_has_half_the_hazard(insured, whole):
    """Closed form: 1 - exp(-h / 2) of 1 - exp(-h) in every draw; before terms the whole year's stays."""
    found = exposure_of(insured({"inception": "2025-12-01", "expiry": "2026-11-30"}))
    share = 182 / 365
    np.testing.assert_allclose(found.before.mean, whole.before.mean, rtol=1e-12)
    book, cover = found.book, found.after.part.cover
    alone = [place for place in range(len(book.states)) if place not in book.groups[0]]
    hazard = -np.log1p(-book.chance[0])
    np.testing.assert_allclose(cover.on_risk[0], share)
    np.testing.assert_allclose(book.chances(cover)[0][alone], -np.expm1(-share * hazard[alone]), rtol=1e-9)
    np.testing.assert_array_equal(cover.on_risk[1], 1)
    np.testing.assert_allclose(found.after.mean[1], whole.after.mean[1], rtol=1e-9)
    assert found.after.mean.sum() == pytest.approx(found.after.total.mean, rel=1e-12)
    assert found.after.tail.sum() == pytest.approx(found.after.total.tail_mean(0.99), rel=1e-9)


def test_a_policy_that_is_over_or_not_begun_has_no_loss(insured, whole):
    found = exposure_of(insured({"expiry": "2026-06-01"}, {"inception": "2027-06-01"}))
    assert found.after.total.mean == 0
    assert found.after.total.quantile(0.99) == 0
    assert found.before.total.mean == pytest.approx(whole.before.total.mean)
    half = exposure_of(insured({"expiry": "2026-06-01"}))
    assert half.after.mean[0].sum() == 0
    assert half.after.total.mean == pytest.approx(whole.after.mean[1].sum(), rel=1e-9)


def test_segments_places_and_conditions_are_on_risk_too(insured):
    found = exposure_of(insured({"expiry": "2026-06-01", "home_port": "Quay"}, {"expiry": "2027-03-01"}))
    for by in ("home_port", "end_state", "item_class"):
        frame = segments(found, by)
        assert frame["after"].sum() == pytest.approx(found.after.total.mean, rel=1e-9)
        assert frame["before"].sum() == pytest.approx(found.before.total.mean, rel=1e-9)
        assert frame["worst"].sum() == pytest.approx(found.after.tail.sum(), rel=1e-9)
    places = accumulations(found, scenarios=scenarios_of(found.result.trade)[:1]).set_index("place")
    assert places.loc["Quay", ["mean", "power_cut", "power_cut_usual"]].tolist() == [0, 0, 0]
    assert places.loc["Quay", "power_cut_sinkings"] > 0
    renewed = read_condition("renew=hose>1")
    nobody, everybody = (price_condition(found, renewed, compliance) for compliance in (0.0, 1.0))
    assert nobody.mean_after == pytest.approx(found.after.total.mean, rel=1e-9)
    # The only hose is on the boat whose policy has ended.
    assert everybody.boats == 1
    assert everybody.mean_after == pytest.approx(found.after.total.mean, rel=1e-9)


def test_a_lay_up_leaves_out_what_happens_under_way_and_nothing_at_rest(insured):
    result = insured({"lay_up_from": "11-01", "lay_up_to": "03-31"})
    found = pd.Series(cover_of(result, STATES, Policy()).on_risk[0], index=STATES)
    assert found["sinking_under_way"] == pytest.approx((365 - 151) / 365)
    assert (found.drop("sinking_under_way") == 1).all()
    days = policy_days(result).set_index("vessel_id")
    assert days.loc["B1"].tolist() == pytest.approx([1, 151 / 365])
    assert days.loc["B2"].tolist() == [1, 0]


def test_what_happens_in_use_is_spread_over_the_days_in_use(insured):
    """A boat ashore from November to March has no loss under way then that a lay-up could leave out."""
    result = insured({"expiry": "2026-11-01", "lay_up_from": "11-01", "lay_up_to": "03-31"})
    winter = pd.DataFrame(
        {
            "vessel_id": ["B1"],
            "from": ["11-01"],
            "to": ["03-31"],
            "state": ["ashore"],
            "visited_every_days": [np.nan],
            "shore_power": [""],
        }
    )
    fleet = dataclasses.replace(result.fleet, periods=winter)
    seasonal = dataclasses.replace(result, learned=dataclasses.replace(result.learned, fleet=fleet))
    found = pd.Series(cover_of(seasonal, STATES, Policy()).on_risk[0], index=STATES)
    season, summer = 365 - 151, 153
    assert found["sinking_under_way"] == pytest.approx(summer / season)
    assert found["sinking_unattended"] == pytest.approx(summer / season)
    assert found["structural_damage"] == pytest.approx(summer / 365)


def test_what_happens_in_use_is_what_needs_use():
    states = load_trade().end_states
    assert {name for name, each in states.items() if each.happens == "in_use"} == set(NEED_USE)


def test_chances_and_shares_lie_between_nothing_and_one():
    with pytest.raises(ParameterError, match=r"must lie in .0, 1., got 1.1"):
        chance_on_risk(1.1, 0.5)
