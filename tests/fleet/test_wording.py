"""Records worded as the keeper's tables are, and never to another meaning."""

import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError, TableError
from riskmodel.fleet.dates import parse_dates
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.wording import as_csv, as_typed, day_of, plain_texts

FORMATS = ["", "%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y", "%d %b %Y", "%Y%m%d"]
COMMA = Settings(delimiter=";", decimal=",")


@given(day=st.dates(datetime.date(1900, 1, 1), datetime.date(2100, 12, 31)), form=st.sampled_from(FORMATS))
def test_a_day_keeps_its_meaning_in_every_format(day, form):
    settings = Settings(date_format=form)
    word = as_csv({"date": day.isoformat()}, settings)["date"]
    first, last = parse_dates(np.array([word], dtype=object), form, False, True).values[0].tolist()
    assert first == last == day


@pytest.mark.parametrize("word", ["2019", "2019-05", "soon", "31/31/2019"])
def test_what_is_no_day_stays_as_given(word):
    settings = Settings(date_format="%d/%m/%Y")
    assert as_csv({"date": word}, settings) == as_typed({"date": word}, settings) == {"date": word}
    assert day_of({"date": word}, settings) is None


def test_typed_columns_get_iso_days():
    assert as_typed({"date": "03/04/2020", "hours": "3"}, Settings(date_format="%d/%m/%Y")) == {
        "date": "2020-04-03",
        "hours": "3",
    }


@pytest.mark.parametrize(
    ("given_word", "written"),
    [
        ("120", "120"),
        ("120.5", "120,5"),
        ("120,5", "120,5"),
        ("0.125", "0,125"),
        (".125", ",125"),
        ("-3.25", "-3,25"),
        ("1234.567", "1234,567"),
        ("3.14159", "3,14159"),
        ("1.234", "1.234"),
        ("12.345", "12.345"),
        ("1.234.567", "1.234.567"),
        ("twelve.5", "twelve.5"),
    ],
)
def test_a_point_becomes_the_keepers_comma_unless_it_may_part_thousands(given_word, written):
    assert as_csv({"hours": given_word, "note": given_word}, COMMA) == {"hours": written, "note": given_word}
    assert as_csv({"reading": given_word}, Settings())["reading"] == given_word


def test_names_are_folded_texts_trimmed_and_empty_ones_left_out():
    record = {"Item ID": " W1 ", "reading-unit": "mm", "note": " \t", "date": ""}
    assert plain_texts(record) == {"item_id": "W1", "reading_unit": "mm"}


def test_every_kind_of_line_end_becomes_one():
    assert plain_texts({"note": "a\r\nb\rc\nd"}) == {"note": "a\nb\nc\nd"}


def test_all_texts_that_cannot_be_written_are_told_of_at_once():
    with pytest.raises(TableError, match=r"records: note must be plain text .*got 'a<U\+0000>'") as caught:
        plain_texts({"note": "a\x00", "who": "\ufffe", "item_id": "W1"})
    assert [problem.column for problem in caught.value.problems] == ["note", "who"]


@pytest.mark.parametrize("value", [3, None, b"W1", datetime.date(2020, 1, 1)])
def test_a_value_that_is_no_text_is_refused(value):
    with pytest.raises(ParameterError, match=r"a record must hold texts, got 'item_id'"):
        plain_texts({"item_id": value})
