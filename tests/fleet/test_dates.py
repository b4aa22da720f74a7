"""Dates: windows of a day, a month or a year, and the refusal to guess."""

import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.fleet.dates import parse_dates


def parsed(*words, date_format="", day_numbers=False, any_precision=True):
    return parse_dates(np.array(words, dtype=object), date_format, day_numbers, any_precision)


@pytest.mark.parametrize(
    ("word", "first", "last"),
    [
        ("2019-05-14", "2019-05-14", "2019-05-14"),
        ("2019-05", "2019-05-01", "2019-05-31"),
        ("2020-02", "2020-02-01", "2020-02-29"),
        ("1900-02", "1900-02-01", "1900-02-28"),
        ("2019", "2019-01-01", "2019-12-31"),
        ("2019-05-14 00:00:00", "2019-05-14", "2019-05-14"),
        ("2019-05-14T08:30:00", "2019-05-14", "2019-05-14"),
    ],
)
def test_a_date_becomes_the_first_and_last_day_it_can_mean(word, first, last):
    result = parsed(word)
    assert result.rules[0] == ""
    assert result.values[0].astype(str).tolist() == [first, last]


def test_a_missing_date_is_no_problem_and_no_date():
    result = parsed("")
    assert result.rules[0] == ""
    assert np.isnat(result.values).all()


@pytest.mark.parametrize(
    "word",
    ["2019-13-01", "2019-02-29", "2019-00", "2019-05-00", "20190514", "soon", "19", "2019-5-4", "2019/05/14"],
)
def test_what_is_no_date_is_refused(word):
    assert parsed(word).rules[0] == "must be a date such as 2019-05-14, 2019-05 or 2019"
    assert np.isnat(parsed(word).values).all()


@pytest.mark.parametrize("word", ["1066-10-14", "9999-12-31", "2201"])
def test_years_no_boat_was_afloat_in_are_refused(word):
    assert parsed(word).rules[0] == "must lie in the years 1850 to 2200"


def test_a_slashed_date_names_both_formats_where_both_fit():
    rule = parsed("03/04/2020").rules[0]
    assert rule.endswith('write date_format = "%d/%m/%Y" or "%m/%d/%Y" in settings.toml')


def test_a_slashed_date_names_the_only_format_the_column_allows():
    assert 'date_format = "%d/%m/%Y" in' in parsed("03/04/2020", "13/04/2020").rules[0]
    assert 'date_format = "%m/%d/%Y" in' in parsed("03/04/2020", "04/13/2020").rules[0]
    assert 'date_format = "%d.%m.%y" in' in parsed("31.12.20").rules[0]


def test_a_declared_format_is_read_and_iso_beside_it():
    result = parsed("03/04/2020", "2020-04-03", "2020-04", "2020", date_format="%d/%m/%Y")
    assert (result.rules == "").all()
    assert result.values[:2].astype(str).tolist() == [["2020-04-03"] * 2] * 2


def test_a_date_out_of_the_declared_format_is_refused():
    rule = parsed("04/13/2020", date_format="%d/%m/%Y").rules[0]
    assert rule == "must be a date as %d/%m/%Y or 2019-05-14, 2019-05 or 2019"


def test_a_spreadsheet_day_number_is_a_date_in_a_workbook_only():
    # Day 43831 is 2020-01-01 in every spreadsheet that counts from 1900 (common practice, no source).
    assert parsed("43831", day_numbers=True).values[0].astype(str).tolist() == ["2020-01-01"] * 2
    assert parsed("43831").rules[0] == "must be a date such as 2019-05-14, 2019-05 or 2019"


def test_a_four_digit_number_in_a_workbook_is_a_year():
    assert parsed("2019", day_numbers=True).values[0].astype(str).tolist() == ["2019-01-01", "2019-12-31"]


def test_a_column_of_days_refuses_a_month():
    result = parsed("2019-05", "2019-05-14", any_precision=False)
    assert result.rules.tolist() == ["must be a day such as 2019-05-14", ""]


days = st.dates(datetime.date(1850, 1, 1), datetime.date(2200, 12, 31))


@given(day=days)
def test_every_day_reads_back_as_itself(day):
    assert parsed(day.isoformat()).values[0].tolist() == [day, day]
    assert parsed(day.strftime("%d/%m/%Y"), date_format="%d/%m/%Y").values[0].tolist() == [day, day]


@given(day=days)
def test_a_day_lies_in_its_month_and_its_month_in_its_year(day):
    first, last = parsed(day.isoformat()[:7]).values[0].tolist()
    begin, end = parsed(day.isoformat()[:4]).values[0].tolist()
    assert begin <= first <= day <= last <= end
    assert first.day == begin.day == begin.month == 1


@given(word=st.text(max_size=12))
def test_any_text_is_a_date_or_a_problem(word):
    result = parsed(word)
    readable = not np.isnat(result.values[0, 0])
    assert readable == (result.rules[0] == "" and word != "")


def test_windows_reach_the_frames(load, plain):
    fleet = load(**plain)
    assert fleet.items["installed_after"].tolist() == [pd.Timestamp("2015-05-02"), pd.Timestamp("2016-01-01")]
    assert fleet.items["installed_by"].tolist() == [pd.Timestamp("2015-05-02"), pd.Timestamp("2016-12-31")]
    assert fleet.records["date_by"].tolist() == [pd.Timestamp("2018-05-01"), pd.Timestamp("2019-10-12")]


def test_a_declared_format_reaches_the_tables(load):
    items = "item_id,vessel_id,item_class,installed_on\nW1,Wren,bilge_pump,03/04/2020\n"
    fleet = load(items=items, settings='date_format = "%d/%m/%Y"\n')
    assert fleet.items["installed_after"][0] == pd.Timestamp("2020-04-03")


def test_an_ambiguous_date_names_the_line_to_write(problems):
    rows = ["A,Wren,bilge_pump,03/04/2020", "B,Wren,bilge_pump,13/04/2020"]
    items = "\n".join(["item_id,vessel_id,item_class,installed_on", *rows])
    found = problems(items=items)
    assert len(found) == 2
    assert found[0] == (
        "items.csv row 2: installed_on must not leave the order of day and month open: "
        'write date_format = "%d/%m/%Y" in settings.toml, got 03/04/2020'
    )
