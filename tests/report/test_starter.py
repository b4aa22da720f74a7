"""A starter workbook holds the usual parts, explains its heads, and is a fleet at once."""

from datetime import date
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from riskmodel.errors import ParameterError
from riskmodel.fleet import load_fleet
from riskmodel.fleet.schema import read_schema
from riskmodel.report.starter import Boat, check_boat, starter_parts
from riskmodel.report.starter_book import STARTER_TABLES, starter_workbook
from riskmodel.risk import assess
from riskmodel.trade import load_trade, typical_outfit

TODAY = date(2026, 6, 1)
RUNABOUT = Boat("sterndrive", 7.2, 2009, 38000, "Whimbrel")
TRADE = load_trade()
KINDS = next(field.enum for field in read_schema("vessels").fields if field.name == "propulsion")


def workbook(boat=RUNABOUT):
    return starter_workbook(boat, starter_parts(boat, TRADE), TRADE)


def sheets(boat=RUNABOUT):
    return load_workbook(BytesIO(workbook(boat)))


def test_a_sterndrive_runabout_starts_with_its_three_bellows():
    items = starter_parts(RUNABOUT, TRADE).items
    # Outside value: an outdrive's openings through the transom (common practice, no source).
    assert {"bellows_drive", "bellows_shift", "bellows_exhaust"} <= set(items["item_class"])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("length", [5.0, 8.5, 14.0])
@pytest.mark.parametrize("built", [1975, 2015])
def test_counts_are_the_typical_outfit_rounded_and_the_rare_parts_are_named(kind, length, built):
    boat = Boat(kind, length, built, 10000)
    outfit = typical_outfit(TRADE, kind, length, built)
    parts = starter_parts(boat, TRADE)
    counts = parts.items.groupby("item_class")["quantity"].sum()
    assert set(counts.index) == {name for name, expected in outfit.items() if expected >= 0.5}
    assert set(parts.perhaps) == {name for name, expected in outfit.items() if expected < 0.5}
    assert all(abs(count - outfit[name]) <= 0.5 for name, count in counts.items())


def test_two_or_three_like_parts_stand_apart_and_many_stand_in_one_row():
    items = starter_parts(Boat("inboard_shaft", 10.0, 1990, 90000), TRADE).items
    rows = items.groupby("item_class").agg(rows=("quantity", "size"), count=("quantity", "sum"))
    few, many = rows["count"].between(2, 3), rows["count"] > 3
    assert few.any()
    assert many.any()
    assert (rows.loc[few, "rows"] == rows.loc[few, "count"]).all()
    assert (rows.loc[many, "rows"] == 1).all()
    assert items.loc[items["item_class"] == "bilge_pump", "position"].tolist() == ["1 of 2", "2 of 2"]


def test_every_part_has_a_number_of_its_own():
    items = starter_parts(RUNABOUT, TRADE).items
    assert items["item_id"].is_unique


def test_the_workbook_has_the_columns_of_the_tables_in_their_order():
    book = sheets()
    for name in STARTER_TABLES:
        head = [cell.value for cell in book[name][1]]
        assert tuple(head) == read_schema(name).names


def test_every_head_is_explained_and_the_required_ones_say_so():
    book = sheets()
    for name in STARTER_TABLES:
        for cell, field in zip(book[name][1], read_schema(name).fields, strict=True):
            assert field.description in cell.comment.text
            assert cell.comment.text.startswith("Required.") == field.required
            assert (cell.fill.fill_type == "solid") == field.required


def test_heads_stay_in_sight():
    book = sheets()
    assert {book[name].freeze_panes for name in STARTER_TABLES} == {"B2"}


def test_every_column_of_set_words_offers_exactly_those_words():
    book = sheets()
    for name in STARTER_TABLES:
        offers = offered(book, name)
        for place, field in enumerate(read_schema(name).fields, start=1):
            if field.enum:
                assert offers[place] == list(field.enum)
            if field.type == "boolean":
                assert offers[place] == ["yes", "no"]


def offered(book, name):
    """The words each column of a sheet offers, by column number; only lists of words."""
    words = {}
    for rule in book[name].data_validations.dataValidation:
        place = next(iter(rule.sqref.ranges)).min_col
        if rule.formula1.startswith('"'):
            words[place] = rule.formula1.strip('"').split(",")
        elif rule.formula1.startswith("words!"):
            cells = book["words"][rule.formula1.removeprefix("words!").replace("$", "")]
            words[place] = [cell.value for (cell,) in cells]
    return words


def test_item_class_offers_every_class_the_trade_knows():
    place = read_schema("items").names.index("item_class") + 1
    assert offered(sheets(), "items")[place] == list(TRADE.classes)


def test_dates_and_names_are_text_cells_so_that_a_year_stays_a_year():
    sheet = sheets()["items"]
    letter = {cell.value: cell.column_letter for cell in sheet[1]}
    for name in ("installed_on", "made_on", "item_id"):
        width = sheet.column_dimensions[letter[name]]
        assert width.number_format == "@"
    assert sheet.column_dimensions[letter["bore_mm"]].number_format == "General"


def test_no_date_is_invented():
    sheet = sheets()["items"]
    dates = [i for i, cell in enumerate(sheet[1]) if cell.value.startswith(("installed", "made"))]
    assert all(row[i] is None for row in sheet.iter_rows(min_row=2, values_only=True) for i in dates)
    assert sheets()["records"].max_row == 1
    assert sheets()["periods"].max_row == 1


def test_the_same_boat_gives_the_same_bytes():
    assert workbook() == workbook()


@pytest.mark.parametrize("kind", KINDS)
def test_the_workbook_is_a_fleet_that_loads_without_a_problem_and_ranks(tmp_path, kind):
    boat = Boat(kind, 9.0, 2001, 45000, "Plover")
    (tmp_path / "fleet.xlsx").write_bytes(workbook(boat))
    fleet = load_fleet(tmp_path, as_of=TODAY, today=TODAY)
    vessel = fleet.vessels.iloc[0]
    assert (vessel["name"], vessel["propulsion"], vessel["value"]) == ("Plover", kind, 45000)
    assert (vessel["built_year"], vessel["length_m"]) == (2001, 9.0)
    assert fleet.notes == ()
    frame = assess(fleet).frame
    assert len(frame) == len(starter_parts(boat, TRADE).items)
    assert frame["failure_probability"].between(0, 1, inclusive="neither").all()


@pytest.mark.parametrize("name", ["=1+1", "NA", "Tern & <Co>", "0042", "Höllenfahrt"])
def test_any_name_comes_back_as_it_was_given(tmp_path, name):
    (tmp_path / "fleet.xlsx").write_bytes(workbook(Boat("outboard", 5.5, 2018, 12000, name)))
    assert load_fleet(tmp_path, as_of=TODAY, today=TODAY).vessels["name"].tolist() == [name]


@settings(max_examples=50, deadline=None)
@given(
    kind=st.sampled_from(KINDS),
    length=st.floats(2.0, 40.0),
    built=st.integers(1900, 2026),
)
def test_every_boat_has_parts_and_none_both_listed_and_doubtful(kind, length, built):
    parts = starter_parts(Boat(kind, length, built, 1.0), TRADE)
    assert len(parts.items) > 5
    assert (parts.items["quantity"] >= 1).all()
    assert not set(parts.perhaps) & set(parts.items["item_class"])


def test_a_boat_of_the_coming_model_year_is_accepted():
    check_boat(Boat("outboard", 6.0, 2027, 60000), TODAY)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"propulsion": "paddle"}, "propulsion must be one of outboard, .* got paddle"),
        ({"length_m": 0.0}, "length_m must be above 0, got 0"),
        ({"length_m": float("nan")}, "length_m must be a number, got nan"),
        ({"value": -5.0}, "value must be above 0, got -5"),
        ({"value": float("inf")}, "value must be a number, got inf"),
        ({"built_year": 1492}, "built_year must lie from 1850 to 2200, got 1492"),
        ({"built_year": 2028}, "built_year must not be after 2027, got 2028"),
    ],
)
def test_a_boat_that_cannot_be_is_refused(change, message):
    sound = {"propulsion": "outboard", "length_m": 6.0, "built_year": 2010, "value": 9000.0}
    with pytest.raises(ParameterError, match=message):
        check_boat(Boat(**{**sound, **change}), TODAY)


def test_all_faults_of_a_boat_are_told_at_once():
    with pytest.raises(ParameterError, match=r"(?s)propulsion .*length_m .*value "):
        check_boat(Boat("paddle", -1.0, 2010, 0.0), TODAY)
