"""One cell's rules."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.trade.cells import free_text, number, optional, positive, text, word, words, year, yes_no


@given(st.floats(min_value=0.0, max_value=1.0))
def test_a_probability_is_read_as_written(value: float) -> None:
    assert number(0.0, 1.0)(repr(value)) == value


@given(st.floats(allow_nan=True, allow_infinity=True).filter(lambda value: not 0.0 <= value <= 1.0))
def test_what_is_no_probability_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="must be a number from 0 to 1"):
        number(0.0, 1.0)(repr(value))


@pytest.mark.parametrize("value", ["0", "-1", "nan", "inf", "", "x", "1,5"])
def test_only_finite_numbers_above_zero_are_positive(value: str) -> None:
    with pytest.raises(ValueError, match="must be a number above 0"):
        positive(value)


@pytest.mark.parametrize("value", ["inf", "1e999", "-0.1", "nan", "two"])
def test_an_open_range_still_wants_a_finite_number(value: str) -> None:
    with pytest.raises(ValueError, match="must be a number from 0 up"):
        number()(value)


@pytest.mark.parametrize("value", ["", "25", "2025.0", "²⁰²⁵", "-202"])
def test_a_year_has_four_digits(value: str) -> None:
    with pytest.raises(ValueError, match="must be a year in four digits"):
        year(value)


@pytest.mark.parametrize(("value", "expected"), [("yes", True), ("no", False)])
def test_yes_and_no_are_read(value: str, expected: bool) -> None:
    assert yes_no(value) is expected


@pytest.mark.parametrize("value", ["Yes", "true", "1", ""])
def test_other_words_than_yes_and_no_are_refused(value: str) -> None:
    with pytest.raises(ValueError, match="must be one of yes, no"):
        yes_no(value)


def test_an_optional_cell_may_be_empty() -> None:
    assert optional(number())("") is None
    assert optional(number())("2.5") == 2.5


def test_an_optional_cell_still_keeps_its_rule() -> None:
    with pytest.raises(ValueError, match="must be a number from 0 up"):
        optional(number())("-2")


def test_words_are_parted_and_stripped() -> None:
    assert words("+")("bilge_pump + float_switch") == ("bilge_pump", "float_switch")


@pytest.mark.parametrize("value", ["", ";", "a;;b"])
def test_an_empty_word_in_a_list_is_refused(value: str) -> None:
    with pytest.raises(ValueError, match="one or more words"):
        words(";")(value)


def test_a_word_must_be_one_of_those_allowed() -> None:
    assert word("renew", "inspect")("renew") == "renew"
    with pytest.raises(ValueError, match="must be one of renew, inspect"):
        word("renew", "inspect")("repair")


def test_text_must_say_something_and_free_text_need_not() -> None:
    assert free_text("") == ""
    with pytest.raises(ValueError, match="must not be empty"):
        text("")
