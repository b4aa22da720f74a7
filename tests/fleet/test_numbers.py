"""Numbers and yes or no, read without guessing."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.fleet.numbers import DECIMAL_COMMA, parse_answers, parse_numbers, parse_yes_no
from riskmodel.fleet.schema import Field

ANY = Field("reading", "number", "")
SIZE = Field("bore_mm", "number", "", above=0.0)
COUNT = Field("quantity", "integer", "", minimum=1.0)


def parsed(*words, field=ANY, factor=1.0, decimal="."):
    return parse_numbers(np.array(words, dtype=object), field, factor, decimal)


@pytest.mark.parametrize(
    ("word", "value"),
    [("12", 12), ("-3.5", -3.5), ("+7", 7), (".5", 0.5), ("4.", 4), ("1e3", 1000), ("2.5E-2", 0.025)],
)
def test_a_plain_number_is_read(word, value):
    assert parsed(word).values[0] == value
    assert parsed(word).rules[0] == ""


@pytest.mark.parametrize(
    "word",
    ["nan", "NaN", "inf", "-inf", "12m", "1 000", "1_000", "0x10", "1.2.3", "true", "-", "e5", "twelve"],
)
def test_what_is_no_number_is_refused(word):
    assert parsed(word).rules[0] == "must be a number"
    assert math.isnan(parsed(word).values[0])


def test_a_missing_number_is_nan_and_no_problem():
    assert parsed("").rules[0] == ""
    assert math.isnan(parsed("").values[0])


def test_a_number_too_large_to_hold_is_refused():
    assert parsed("1e999").rules[0] == "must be a finite number"


@pytest.mark.parametrize("word", ["0", "-1", "-0.001"])
def test_a_size_must_be_above_nought(word):
    assert parsed(word, field=SIZE).rules[0] == "must be above 0"


def test_limits_are_held_in_the_fields_own_unit():
    limited = Field("length_m", "number", "", maximum=10.0)
    assert parsed("30", field=limited, factor=0.3048).rules[0] == ""
    assert parsed("40", field=limited, factor=0.3048).rules[0] == "must not be above 10"


def test_a_count_must_be_whole_and_at_least_one():
    assert parsed("2", "2.0", "2.5", "0", field=COUNT).rules.tolist() == [
        "",
        "",
        "must be a whole number",
        "must not be below 1",
    ]


def test_an_undeclared_decimal_comma_names_the_line_to_write():
    assert parsed("12,5").rules[0] == DECIMAL_COMMA
    assert 'decimal = ","' in DECIMAL_COMMA


def test_a_declared_decimal_comma_is_read():
    result = parsed("12,5", "12", ",5", decimal=",")
    assert result.values.tolist() == [12.5, 12.0, 0.5]


@pytest.mark.parametrize("word", ["12.5", "1.234,5"])
def test_a_point_beside_a_declared_comma_is_refused(word):
    rule = parsed(word, decimal=",").rules[0]
    assert rule == "must be a number with the decimal comma that settings.toml declares"


@given(value=st.floats(allow_nan=False, allow_infinity=False))
def test_every_float_reads_back_exactly(value):
    assert parsed(repr(value)).values[0] == value
    assert parsed(repr(value).replace(".", ","), decimal=",").values[0] == value


@given(word=st.text(max_size=8))
def test_any_text_is_a_number_or_a_problem(word):
    result = parsed(word)
    assert np.isfinite(result.values[0]) == (result.rules[0] == "" and word != "")


@pytest.mark.parametrize(
    ("word", "value"),
    [
        ("yes", True),
        ("YES", True),
        ("true", True),
        ("1", True),
        ("no", False),
        ("False", False),
        ("0", False),
    ],
)
def test_yes_and_no_are_read_by_their_words(word, value):
    result = parse_yes_no(np.array([word], dtype=object))
    assert result.values[0] == value
    assert result.rules[0] == ""


@pytest.mark.parametrize("word", ["0.5", "maybe", "y", "2", "1.0", "-1"])
def test_half_a_yes_is_refused(word):
    assert parse_yes_no(np.array([word], dtype=object)).rules[0] == "must be yes or no"


def test_an_answer_is_told_from_none():
    words = np.array(["yes", "TRUE", "1", "no", "False", "0", "", "perhaps"], dtype=object)
    result = parse_answers(words)
    assert result.values.tolist() == ["yes", "yes", "yes", "no", "no", "no", "", ""]
    assert result.rules.tolist() == [*[""] * 7, "must be yes or no"]


def test_a_decimal_comma_is_reported_once_a_table(problems):
    vessels = "vessel_id;propulsion;value;length_m\nA;outboard;9000,5;5,5\nB;outboard;9000,5;x\n"
    found = problems(vessels=vessels, settings='delimiter = ";"\n')
    assert found == [
        f"vessels.csv row 2: length_m {DECIMAL_COMMA}, got 5,5",
        "vessels.csv row 3: length_m must be a number, got x",
    ]


def test_a_declared_decimal_comma_reaches_the_tables(load):
    vessels = "vessel_id;propulsion;value;length_m\nA;outboard;9000,5;5,5\n"
    fleet = load(vessels=vessels, settings='delimiter = ";"\ndecimal = ","\n')
    assert fleet.vessels["value"][0] == 9000.5
    assert fleet.vessels["length_m"][0] == 5.5


@pytest.mark.parametrize(
    ("column", "value", "rule"),
    [
        ("value", "-1", "must be above 0"),
        ("value", "0", "must be above 0"),
        ("value", "NaN", "must be a number"),
        ("value", "", "must be given"),
        ("built_year", "1066", "must not be below 1850"),
        ("built_year", "2028", "must not be above 2027"),
        ("built_year", "2010.5", "must be a whole number"),
        ("length_m", "0", "must be above 0"),
        ("hours_per_year", "9000", "must not be above 8784"),
        ("checked_every_days", "0", "must be above 0"),
        ("deductible", "-1", "must not be below 0"),
        ("limit", "inf", "must be a number"),
        ("alarm_telemetry", "0.5", "must be yes or no"),
    ],
)
def test_each_vessel_number_keeps_its_limits(problems, column, value, rule):
    head, row = "vessel_id,propulsion,value", "A,outboard,9000"
    if column == "value":
        row = f"A,outboard,{value}"
    else:
        head, row = f"{head},{column}", f"{row},{value}"
    shown = value or "nothing"
    assert problems(vessels=f"{head}\n{row}\n") == [f"vessels.csv row 2: {column} {rule}, got {shown}"]


@pytest.mark.parametrize(
    ("column", "value", "rule"),
    [
        ("bore_mm", "0", "must be above 0"),
        ("bore_mm", "-25", "must be above 0"),
        ("depth_m", "-0.1", "must not be below 0"),
        ("quantity", "0", "must not be below 1"),
        ("quantity", "1.5", "must be a whole number"),
        ("installed_hours", "-1", "must not be below 0"),
        ("maker_interval_years", "0", "must be above 0"),
        ("renew_cost", "free", "must be a number"),
    ],
)
def test_each_item_number_keeps_its_limits(problems, column, value, rule):
    items = f"item_id,vessel_id,item_class,{column}\nI,Wren,bilge_pump,{value}\n"
    assert problems(items=items) == [f"items.csv row 2: {column} {rule}, got {value}"]
