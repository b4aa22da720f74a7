"""Rows from durations and yes/no: the words, units and time spans that are read, and those refused."""

import datetime

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError
from riskmodel.life import rows_from_durations


def test_a_failure_is_exact_and_a_survivor_right_censored():
    rows = rows_from_durations([2.0, 3.0], [True, False])
    assert (rows.lower.tolist(), rows.upper.tolist()) == ([2, 3], [2, np.inf])


@pytest.mark.parametrize(
    "words", [("yes", "no"), (" Yes", "NO "), ("true", "False"), (1, 0), (1.0, 0.0), ("1", "0")]
)
def test_words_for_yes_and_no_are_read(words):
    assert np.isfinite(rows_from_durations([2, 3], words).upper).tolist() == [True, False]


@pytest.mark.parametrize("word", [0.5, "maybe", "", None, 2, np.nan])
def test_any_other_word_is_refused_with_its_row(word):
    with pytest.raises(ParameterError, match=r"row 2: failed must be yes or no"):
        rows_from_durations([1, 2], ["yes", word])


def test_entry_and_count_are_kept():
    rows = rows_from_durations([2, 3], [1, 0], entry=[1, 0.5], count=[4, 5])
    assert (rows.entry.tolist(), rows.count.tolist()) == ([1, 0.5], [4, 5])


@pytest.mark.parametrize(("unit", "value"), [("days", 731.0), ("hours", 17_544.0), ("seconds", 63_158_400.0)])
def test_time_spans_come_out_in_the_unit_asked(unit, value):
    spans = pd.to_timedelta([731, 10], unit="D").to_numpy()
    assert rows_from_durations(spans, [1, 0], unit=unit).lower[0] == pytest.approx(value)


def test_time_spans_in_years_are_of_365_days_and_a_quarter():
    spans = np.array([datetime.timedelta(days=1461)], dtype="timedelta64[us]")
    assert rows_from_durations(spans, ["yes"]).lower == pytest.approx(4.0)


def test_time_spans_of_entry_are_converted_with_the_rest():
    spans = (np.array([730.5, 365.25]) * 86_400).astype("timedelta64[s]")
    rows = rows_from_durations(spans[:1], [1], entry=spans[1:])
    assert (rows.lower, rows.entry) == (pytest.approx(2.0), pytest.approx(1.0))


def test_numbers_written_as_text_are_read():
    assert rows_from_durations(["1", "2.5"], ["yes", "no"]).lower.tolist() == [1, 2.5]


def test_an_unknown_unit_is_refused():
    with pytest.raises(ParameterError, match="unit must be one of seconds, hours, days, years, got 'weeks'"):
        rows_from_durations([1], [1], unit="weeks")


def test_words_for_durations_are_refused():
    with pytest.raises(ParameterError, match=r"durations must be numbers or time spans, got \['long'\]"):
        rows_from_durations(["long"], ["yes"])


def test_unequal_lengths_are_refused():
    with pytest.raises(ParameterError, match="equally long, got 2 and 1"):
        rows_from_durations([1, 2], ["yes"])


def test_a_missing_time_span_is_refused():
    with pytest.raises(ParameterError, match="row 1: lower must be a finite age"):
        rows_from_durations(np.array(["NaT"], dtype="timedelta64[s]"), ["no"])
