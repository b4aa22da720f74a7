"""The terms of a book in words: what boats' own columns say, and whose policy has ended or not begun."""

from dataclasses import replace
from datetime import date

import pandas as pd
import pytest

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.report.exposure_terms import terms_block, terms_rows

pytestmark = pytest.mark.thorough

UNTIL = date(2027, 6, 1)


@pytest.fixture(scope="module")
def told(assessed, two_boats):
    """Makes the answer, as far as terms go, where the boats' policies say this."""

    def make(first, second, policy=None):
        boats = [boat | extra for boat, extra in zip(two_boats["boats"], (first, second), strict=True)]
        found = exposure_of(assessed(**two_boats | {"boats": boats}, until=UNTIL), policy)
        return Answer(found, {}, pd.DataFrame(), (), {})

    return make


def words(answer):
    return " ".join(terms_block(answer).split())


def test_policies_that_are_over_or_not_begun_are_counted_and_named(told):
    found = words(told({"expiry": "2026-06-01", "name": "Kestrel"}, {"inception": "2027-06-01"}))
    assert "no loss of 1 boat (Kestrel): policy ended by 2026-06-01" in found
    assert "no loss of 1 boat (B2): policy begins on 2027-06-01 or later" in found
    assert "on risk for part" not in found


def test_a_lay_up_says_what_it_leaves_out(told):
    found = words(told({"lay_up_from": "11-01", "lay_up_to": "03-31"}, {}))
    assert "1 boat laid up for part of it, not covered then: " in found
    assert "sinking under way" in found
    assert "fire or explosion" not in found


def test_a_market_value_is_for_boats_that_say_so(told):
    share = Policy(value_share=0.8)
    assert "1 boat at market value, at most 80 % of the value for the boat itself" in words(
        told({"value_basis": "market"}, {}, share)
    )
    assert "no boat at market value, so --value-share counts for none" in words(
        told({"value_basis": "agreed"}, {}, share)
    )
    assert "taken to be the whole of the value given" in words(told({"value_basis": "market"}, {}))


def test_without_columns_of_their_own_boats_have_no_rows(told):
    plain = told({}, {})
    assert list(terms_rows(plain)) == []
    assert words(plain).startswith("Terms: none given")


def test_what_boats_without_terms_of_their_own_bear_is_said(told):
    both = Policy(deductible=300.0, deductible_share=0.01)
    found = words(told({"deductible": 500, "limit": 9000}, {}, both))
    assert "(USD 300 or 1 % of the value, the larger where it has none of its own)" in found
    assert "the limit of 1 boat on each loss" in found
    assert "none of its own" not in words(told({"deductible": 500}, {}))


def test_equal_boats_are_counted(told):
    answer = told({"value_basis": "market", "limit": 9000}, {"expiry": "2026-12-01"}, Policy(value_share=0.8))
    book = answer.exposure.book
    thirty = replace(book, vessels=book.vessels.assign(boats=[30, 7]))
    found = words(replace(answer, exposure=replace(answer.exposure, book=thirty)))
    assert "30 boats at market value" in found
    assert "the limit of 30 boats" in found
    assert "7 boats on risk for part of the time (50 % of the days)" in found
