"""Conditions on a book: both ends of compliance, words, what they may and may not do."""

from datetime import date

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure.book import book_otherwise, book_with, state_costs
from riskmodel.exposure.conditions import Condition, keeping, price_condition, read_condition
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of, side_of
from riskmodel.exposure.otherwise import otherwise
from riskmodel.risk.after import outcomes_after

pytestmark = pytest.mark.thorough

TEXTS = ("renew=bellows_drive>3", "visits=5", "tests=quarterly")


@pytest.fixture(scope="module")
def exposed(assessed, two_boats):
    return exposure_of(assessed(**two_boats, until=date(2027, 6, 1)), Policy(deductible=300.0))


@pytest.mark.parametrize("text", TEXTS)
def test_nobody_keeping_it_is_the_book_as_it_is(exposed, text):
    none = price_condition(exposed, read_condition(text), 0.0)
    np.testing.assert_allclose(none.total.pmf, exposed.after.total.pmf, atol=1e-12)
    assert none.mean_after == pytest.approx(exposed.after.total.mean, rel=1e-12)
    assert none.tail_after == pytest.approx(none.tail_before, rel=1e-9)
    assert none.cost == 0


@pytest.mark.parametrize("text", TEXTS)
def test_everybody_keeping_it_is_the_other_book(exposed, text):
    every = price_condition(exposed, read_condition(text), 1.0)
    kept = keeping(exposed.result, read_condition(text))
    renewed = kept.chance is not exposed.result.parts.drawn
    if text.startswith("visits"):
        book = book_otherwise(kept.result)
    else:
        found = _outcomes(exposed.result, kept) if renewed else None
        boats = found.boats if found else _boats(kept)
        book = book_with(kept.result, boats, state_costs(kept.result, kept.chance, kept.working))
    side = side_of(book, exposed.after.part.cover)
    assert every.mean_after == pytest.approx(side.total.mean, rel=1e-9)
    assert every.total.pmf @ every.total.losses == pytest.approx(side.total.mean, rel=1e-9)
    assert every.tail_after == pytest.approx(side.total.tail_mean(0.99), rel=2e-3)


def _outcomes(result, kept):
    age = result.standing["age_years"].fillna(result.standing["oldest"]).to_numpy()
    renewed = (result.fleet.items["item_class"] == "bellows_drive").to_numpy() & (age > 3)
    return outcomes_after(result, renewed, np.zeros(len(renewed)))


def _boats(kept):
    from riskmodel.risk.draws import Draws
    from riskmodel.risk.outcomes import outcomes

    result = kept.result
    return outcomes(kept.chance, result.consequences, kept.working, result.trade, Draws(result.seed)).boats


@pytest.mark.parametrize("text", TEXTS)
def test_the_mean_is_mixed_boat_by_boat(exposed, text):
    none, half, every = (price_condition(exposed, read_condition(text), share) for share in (0.0, 0.5, 1.0))
    assert half.mean_after == pytest.approx((none.mean_after + every.mean_after) / 2, rel=1e-9)
    assert half.cost == pytest.approx(every.cost / 2)
    assert half.credit == pytest.approx(every.credit)


@pytest.mark.parametrize("text", TEXTS)
def test_more_compliance_never_raises_the_loss(exposed, text):
    means = [
        price_condition(exposed, read_condition(text), share).mean_after for share in (0.0, 0.4, 0.8, 1.0)
    ]
    assert means == sorted(means, reverse=True)


def test_the_credit_breaks_even(exposed):
    """What the boats that keep it are let off is what the book loses less."""
    priced = price_condition(exposed, read_condition("visits=3"), 0.7)
    saved = priced.mean_before - priced.mean_after
    assert priced.boats == 2
    assert priced.credit * priced.compliance * priced.boats == pytest.approx(saved, rel=1e-9)
    assert 0 < priced.credit_share < 1


def test_renewing_touches_only_boats_that_have_such_parts(exposed):
    priced = price_condition(exposed, read_condition("renew=bellows_drive>3"), 1.0)
    assert priced.boats == 1
    assert priced.cost > 0
    assert "1 part (bellows_drive over 3 years) renewed" in priced.told
    assert price_condition(exposed, read_condition("renew=bellows_drive>20"), 1.0).boats == 0


def test_a_part_of_unknown_age_counts_as_over_it(exposed):
    kept = keeping(exposed.result, read_condition("renew=bilge_pump>10"))
    assert "1 of them because nobody can tell their age" in kept.told
    assert list(kept.touches) == [False, True]


def test_renewed_parts_are_renewed_as_plans_renew_them(exposed):
    kept = keeping(exposed.result, read_condition("renew=bellows_drive>3"))
    found = _outcomes(exposed.result, kept)
    for name, boats in _boats(kept).items():
        np.testing.assert_allclose(boats, found.boats[name], rtol=1e-12)


def test_visits_already_made_change_nothing(exposed):
    kept = keeping(exposed.result, read_condition("visits=yearly"))
    assert not kept.touches.any()
    assert kept.cost.sum() == 0


def test_visits_cost_what_they_are_said_to(exposed):
    free, paid = (price_condition(exposed, read_condition("visits=7"), 1.0, each) for each in (0.0, 20.0))
    assert free.cost == 0
    assert "(not priced)" in free.told
    # Every 14 days before: 26 visits more in the year.
    assert paid.cost == pytest.approx(20 * 365 * (1 / 7 - 1 / 14), rel=0.01)


def test_the_same_visits_are_the_same_assessment(exposed):
    again = otherwise(exposed.result, exposed.result.fleet)
    np.testing.assert_allclose(again.following.chance, exposed.result.following.chance)
    np.testing.assert_allclose(book_otherwise(again).chance, exposed.book.chance, rtol=1e-12)


def test_tests_cost_more_the_oftener(exposed):
    seldom, often = (price_condition(exposed, Condition("tests", "", days), 1.0) for days in (182.0, 30.0))
    assert often.cost == pytest.approx(seldom.cost * 182 / 30)
    assert often.mean_after <= seldom.mean_after + 1e-9


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("renew=fuel_feed_hose>10", Condition("renew", "fuel_feed_hose", 10.0)),
        (" renew = hose > 7.5 ", Condition("renew", "hose", 7.5)),
        ("visits=weekly", Condition("visits", "", 7.0)),
        ("tests=quarterly", Condition("tests", "", 91.0)),
        ("tests=14", Condition("tests", "", 14.0)),
    ],
)
def test_words_are_read(text, wanted):
    assert read_condition(text) == wanted


@pytest.mark.parametrize(
    "text", ["", "weekly", "renew=hose", "renew=hose>old", "visits=0", "visits=often", "paint=7"]
)
def test_other_words_are_refused(text):
    with pytest.raises(
        ParameterError, match="--condition must be renew=CLASS>YEARS, visits=DAYS or tests=DAYS"
    ):
        read_condition(text)


def test_a_class_that_there_is_not_is_refused(exposed):
    with pytest.raises(ParameterError, match="renew must name a class of parts or a word in one, got 'teak'"):
        price_condition(exposed, read_condition("renew=teak>5"), 1.0)


@pytest.mark.parametrize(
    ("share", "cost", "rule"), [(1.2, 0, "compliance must lie in 0 to 1"), (1, -1, "visit_cost")]
)
def test_shares_and_costs_that_cannot_be_are_refused(exposed, share, cost, rule):
    with pytest.raises(ParameterError, match=rule):
        price_condition(exposed, read_condition("visits=7"), share, cost)
