"""Reading one workbook: sheets, typed cells, row numbers."""

import datetime

import pandas as pd
import pytest
import xlsxwriter

from riskmodel.errors import TableError
from riskmodel.fleet import check_fleet, load_fleet
from riskmodel.fleet.workbook import read_workbook

VESSELS = [["vessel_id", "propulsion", "value"], ["Wren", "sterndrive", 30000]]


@pytest.fixture
def book(tmp_path):
    """Writes a workbook of sheets given as rows, each cell as its own type, and gives its path."""

    def written(name="boats.xlsx", **sheets):
        path = tmp_path / name
        workbook = xlsxwriter.Workbook(str(path), {"default_date_format": "yyyy-mm-dd"})
        for sheet, rows in sheets.items():
            page = workbook.add_worksheet(sheet)
            for place, row in enumerate(rows):
                page.write_row(place, 0, row)
        workbook.close()
        return path

    return written


def test_sheets_become_tables(book, today):
    items = [["item_id", "vessel_id", "item_class", "bore_in"], ["I", "Wren", "raw_water_hose", 1.5]]
    fleet = load_fleet(book(vessels=VESSELS, items=items), today=today)
    assert fleet.vessels["value"].tolist() == [30000]
    assert fleet.items["bore_mm"][0] == pytest.approx(38.1)
    assert fleet.source == "boats.xlsx"


def test_a_folder_with_one_workbook_is_a_fleet(book, today):
    path = book(Vessels=VESSELS, Notes=[["anything"]])
    (path.parent / "~$boats.xlsx").write_bytes(b"lock")
    assert load_fleet(path.parent, today=today).vessels["vessel_id"].tolist() == ["Wren"]


def test_settings_stand_beside_the_workbook(book, today):
    path = book(vessels=VESSELS)
    (path.parent / "settings.toml").write_text('as_of = "2025-01-01"\n')
    assert load_fleet(path, today=today).as_of == datetime.date(2025, 1, 1)


def test_numbers_as_ids_lose_no_digit_and_gain_none(book, today):
    vessels = [["vessel_id", "propulsion", "value"], [101, "outboard", 9000.25], ["007", "outboard", 1]]
    fleet = load_fleet(book(vessels=vessels), today=today)
    assert fleet.vessels["vessel_id"].tolist() == ["101", "007"]
    assert fleet.vessels["value"].tolist() == [9000.25, 1.0]


@pytest.mark.parametrize(
    ("cell", "first", "last"),
    [
        (datetime.date(2015, 5, 2), "2015-05-02", "2015-05-02"),
        (datetime.datetime(2015, 5, 2, 9, 30), "2015-05-02", "2015-05-02"),
        (42126, "2015-05-02", "2015-05-02"),
        ("2015-05-02", "2015-05-02", "2015-05-02"),
        (2015, "2015-01-01", "2015-12-31"),
        ("2015-05", "2015-05-01", "2015-05-31"),
    ],
)
def test_dates_are_read_from_dates_day_numbers_and_text(book, today, cell, first, last):
    items = [["item_id", "vessel_id", "item_class", "installed_on"], ["I", "Wren", "bilge_pump", cell]]
    fleet = load_fleet(book(vessels=VESSELS, items=items), today=today)
    assert fleet.items["installed_after"][0] == pd.Timestamp(first)
    assert fleet.items["installed_by"][0] == pd.Timestamp(last)


def test_yes_and_no_may_be_boolean_cells(book, today):
    vessels = [[*VESSELS[0], "shore_power", "alarm_telemetry"], [*VESSELS[1], False, True]]
    fleet = load_fleet(book(vessels=vessels), today=today)
    assert fleet.vessels.loc[0, ["shore_power", "alarm_telemetry"]].tolist() == [False, True]


def test_a_month_and_day_that_became_a_date_is_still_a_month_and_day(book, today):
    vessels = [
        [*VESSELS[0], "season_start", "season_end"],
        [*VESSELS[1], datetime.date(2026, 4, 15), "10-20"],
    ]
    fleet = load_fleet(book(vessels=vessels), today=today)
    assert fleet.vessels.loc[0, ["season_start", "season_end"]].tolist() == ["04-15", "10-20"]


def test_rows_are_numbered_as_the_sheet_shows_them(book, today):
    vessels = [*VESSELS, [], ["Plover", "rowed", 5]]
    found = check_fleet(book(vessels=vessels), today=today)
    assert [(problem.file, problem.row) for problem in found] == [("boats.xlsx sheet vessels", 4)]


def test_a_number_that_is_text_is_read(book, today):
    vessels = [VESSELS[0], ["Wren", "outboard", "12.5"]]
    assert load_fleet(book(vessels=vessels), today=today).vessels["value"][0] == 12.5


def test_a_settings_decimal_comma_does_not_touch_a_workbooks_numbers(book, today):
    path = book(vessels=[VESSELS[0], ["Wren", "outboard", 12.5]])
    (path.parent / "settings.toml").write_text('delimiter = ";"\ndecimal = ","\n')
    assert load_fleet(path, today=today).vessels["value"][0] == 12.5


def test_a_sheet_that_does_not_open_with_its_head_is_refused(book):
    with pytest.raises(TableError, match=r"boats.xlsx sheet vessels row 1: must open with a head"):
        read_workbook(book(vessels=[[], *VESSELS]))
    with pytest.raises(TableError, match=r"sheet items row 1: must open with a head"):
        read_workbook(book(vessels=VESSELS, items=[]))


def test_values_under_no_name_are_refused(book):
    with pytest.raises(TableError, match=r"row 2: must have a name in the head over column 4, got stray"):
        read_workbook(book(vessels=[VESSELS[0], [*VESSELS[1], "stray"]]))


def test_a_workbook_without_vessels_is_refused(book, today):
    assert [str(problem) for problem in check_fleet(book(boats=VESSELS), today=today)] == [
        "boats.xlsx: must hold a vessels table, got none"
    ]


def test_a_file_that_is_no_workbook_is_refused(tmp_path, today):
    (tmp_path / "boats.xlsx").write_text("no")
    assert str(check_fleet(tmp_path / "boats.xlsx", today=today)[0]).startswith(
        "boats.xlsx: must be an Excel workbook, whole: open it in a spreadsheet program and save it anew, got"
    )
