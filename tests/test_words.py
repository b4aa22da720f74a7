"""Numbers in words: no false nought, no false certainty, no digit that is not known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.words import about_in, band, counted, in_a_thousand, money, price, ratio, years

CHANCES = st.floats(0, 1, allow_nan=False)


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.42, "420"), (0.0081, "8.1"), (0.0004, "0.4"), (0.00009, "<0.1"), (0.0, "<0.1"), (1.0, "1000")],
)
def test_a_chance_is_said_in_a_thousand(chance, said):
    assert in_a_thousand(chance) == said


def test_what_is_not_certain_is_never_said_to_be():
    assert in_a_thousand(0.99999) == "999"
    assert about_in(0.99999) == "about 99 in 100"


@given(CHANCES)
def test_a_chance_is_never_said_to_be_nought(chance):
    assert in_a_thousand(chance) not in ("0", "0.0")
    assert " 0 in" not in about_in(chance)


@given(CHANCES)
def test_a_chance_said_is_near_the_chance(chance):
    said = in_a_thousand(chance)
    if said != "<0.1":
        assert float(said) / 1000 == pytest.approx(chance, rel=0.15, abs=1e-9)


@given(CHANCES, CHANCES)
def test_a_larger_chance_is_never_said_smaller(one, other):
    low, high = sorted((one, other))
    said = [0.0 if text == "<0.1" else float(text) for text in (in_a_thousand(low), in_a_thousand(high))]
    assert said[0] <= said[1]


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.003, "about 3 in 1,000"),
        (0.0005, "about 5 in 10,000"),
        (0.00005, "under 1 in 10,000"),
        (0.25, "about 25 in 100"),
        (1.0, "certain"),
    ],
)
def test_a_chance_is_said_as_a_frequency(chance, said):
    assert about_in(chance) == said


def test_a_band_holds_its_chance_and_its_ends():
    assert band(0.42, 0.189, 0.708) == "420 (189-708)"


@pytest.mark.parametrize(
    ("amount", "said"),
    [
        (1284.0, "1,300"),
        (45.4, "45"),
        (2.44, "2.4"),
        (0.3, "<1"),
        (0.0, "0"),
        (math.nan, "-"),
        (math.inf, "-"),
        (99_600.0, "100,000"),
        (-1284.0, "-1,300"),
    ],
)
def test_money_is_said_to_two_figures(amount, said):
    assert money(amount) == said


def test_a_price_is_said_in_whole_units():
    assert [price(1284.4), price(19.0), price(0.2)] == ["1,284", "19", "0"]


@pytest.mark.parametrize(("number", "said"), [(25.3, "25"), (3.14, "3.1"), (0.24, "0.24"), (0.0, "<0.01")])
def test_a_ratio_is_said_to_two_figures(number, said):
    assert ratio(number) == said


@pytest.mark.parametrize(("number", "said"), [(0.42, "0.4"), (7.5, "7.5"), (23.2, "23"), (math.inf, "?")])
def test_an_age_is_said_in_years(number, said):
    assert years(number) == said


def test_one_is_singular():
    assert [counted(1, "boat"), counted(3, "boat"), counted(0, "boat")] == ["1 boat", "3 boats", "0 boats"]
    assert counted(1200, "boat") == "1,200 boats"
