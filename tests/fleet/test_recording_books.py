"""Adding a record to a workbook: the new row, and everything else as it was."""

import datetime
import io
import struct
import zipfile
import zlib

import openpyxl
import pandas as pd
import pytest
import xlsxwriter

from riskmodel.errors import ParameterError, TableError
from riskmodel.fleet import Repeat, add_record, load_fleet

LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected", "hours": "130.50"}
VESSELS = [["vessel_id", "propulsion", "value"], ["Wren", "sterndrive", 30000]]
ITEMS = [["item_id", "vessel_id", "item_class"], ["W1", "Wren", "bellows_drive"]]
HEAD = ["item_id", "date", "event", "hours", "who"]
SHEET = "xl/worksheets/sheet3.xml"


def picture():
    """A picture of one point."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")
    return io.BytesIO(b"\x89PNG\r\n\x1a\n" + body)


@pytest.fixture
def book(tmp_path):
    """Writes a workbook of vessels, items and records with ``dress`` done to it, and gives its path."""

    def written(records=(), dress=lambda workbook, sheet: None, head=HEAD, **options):
        path = tmp_path / "boats.xlsx"
        workbook = xlsxwriter.Workbook(str(path), {"default_date_format": "dd.mm.yyyy", **options})
        sheets = {"vessels": VESSELS, "items": ITEMS}
        if head is not None:
            sheets["Records"] = [head, *records]
        for name, rows in sheets.items():
            page = workbook.add_worksheet(name)
            for place, row in enumerate(rows):
                page.write_row(place, 0, row)
        dress(workbook, page)
        workbook.close()
        return path

    return written


def parts(path):
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def cells(path, sheet="Records"):
    """The values as an independent reader gives them."""
    return [list(row) for row in openpyxl.load_workbook(path)[sheet].iter_rows(values_only=True)]


def rich(workbook, sheet):
    """Everything a keeper may have put into a workbook."""
    chart = workbook.add_chart({"type": "line"})
    chart.add_series({"values": "=Records!$D$2:$D$3"})
    sheet.insert_chart("H2", chart)
    sheet.insert_image("H20", "point.png", {"image_data": picture()})
    sheet.write_comment("A1", "which part")
    sheet.data_validation("C2:C100", {"validate": "list", "source": ["inspected", "failed"]})
    sheet.conditional_format("D2:D100", {"type": "cell", "criteria": ">", "value": 500})
    sheet.set_column(0, 4, 17)
    sheet.freeze_panes(1, 0)
    other = workbook.add_worksheet("summary")
    other.write_formula("A1", "=COUNTA(Records!A2:A100)", None, 1)
    workbook.define_name("Parts", "=items!$A$2:$A$9")


def test_a_record_stands_below_the_last_row_in_the_types_of_the_sheet(book, today):
    path = book([["W1", datetime.date(2018, 5, 1), "inspected", 120, "Mo"]])
    added = add_record(path, LOOK, today=today)
    assert (added.file, added.row) == ("boats.xlsx sheet Records", 3)
    assert added.line == "W1,2026-05-30,inspected,130.50,"
    assert cells(path)[2] == ["W1", datetime.datetime(2026, 5, 30), "inspected", 130.5, None]
    sheet = openpyxl.load_workbook(path)["Records"]
    assert sheet["B3"].number_format == sheet["B2"].number_format == "dd.mm.yyyy"
    assert sheet.dimensions == "A1:E3"


def test_nothing_else_in_the_workbook_changes(book, today):
    path = book([["W1", "2018-05-01", "inspected", 120, "Mo"]], rich)
    before = parts(path)
    add_record(path, LOOK | {"who": "Jo & <Co>"}, today=today)
    after = parts(path)
    assert list(after) == list(before)
    assert {name for name in after if after[name] != before[name]} <= {SHEET, "xl/workbook.xml"}
    row = after[SHEET][after[SHEET].index(b'<row r="3"') : after[SHEET].index(b"</sheetData>")]
    assert after[SHEET].replace(row, b"").replace(b"A1:E3", b"A1:E2") == before[SHEET]
    assert cells(path)[2] == ["W1", "2026-05-30", "inspected", 130.5, "Jo & <Co>"]


def test_formulas_are_worked_out_anew_on_opening(book, today):
    path = book()
    with_old_values = parts(path)["xl/workbook.xml"].replace(b' fullCalcOnLoad="1"', b"")
    rewrite(path, {"xl/workbook.xml": with_old_values})
    add_record(path, LOOK, today=today)
    assert b'fullCalcOnLoad="1"' in parts(path)["xl/workbook.xml"]


def rewrite(path, changed):
    kept = parts(path) | changed
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in kept.items():
            book.writestr(name, content)


def test_ten_records_one_after_another_all_stand(book, today):
    path = book()
    for count in range(10):
        add_record(path, LOOK | {"hours": str(count)}, today=today)
    assert load_fleet(path, today=today).records["hours"].tolist() == list(range(10))
    assert [row[3] for row in cells(path)[1:]] == list(range(10))


def test_a_text_that_looks_like_a_formula_or_a_number_stays_text(book, today):
    path = book()
    add_record(path, LOOK | {"who": "=1+1"}, today=today)
    add_record(path, LOOK | {"who": "007"}, today=today, repeat=Repeat.MEANT)
    assert [row[4] for row in cells(path)[1:]] == ["=1+1", "007"]
    assert openpyxl.load_workbook(path)["Records"]["E2"].data_type != "n"


def test_several_lines_and_spaces_in_a_note_stay(book, today):
    path = book()
    add_record(path, LOOK | {"who": "a  b\r\nc\td"}, today=today)
    assert cells(path)[1][4] == "a  b\nc\td"


def test_missing_columns_go_to_the_end_of_the_head(book, today):
    path = book([["W1", "2018-05-01", "inspected", 120, "Mo"]])
    added = add_record(path, LOOK | {"reading": "3.5", "reading_unit": "drips/min"}, today=today)
    assert added.new_columns == ("reading", "reading_unit")
    assert cells(path) == [
        [*HEAD, "reading", "reading_unit"],
        ["W1", "2018-05-01", "inspected", 120, "Mo", None, None],
        ["W1", "2026-05-30", "inspected", 130.5, None, 3.5, "drips/min"],
    ]


def test_a_row_that_is_there_but_empty_is_filled_and_keeps_its_height_and_formulas(book, today):
    def dress(workbook, sheet):
        red = workbook.add_format({"bg_color": "#FF0000"})
        sheet.set_row(1, 30)
        sheet.write_blank("C2", None, red)
        sheet.write_formula("E2", '=IF(A2="","","by hand")', red, "")
        sheet.write_formula("E3", '=IF(A3="","","by hand")', red, "")

    path = book((), dress)
    assert add_record(path, LOOK, today=today).row == 2
    sheet = openpyxl.load_workbook(path)["Records"]
    assert sheet.row_dimensions[2].height == 30
    assert sheet["E2"].value == '=IF(A2="","","by hand")'
    assert sheet["E3"].value == '=IF(A3="","","by hand")'
    assert (sheet["C2"].value, sheet["C2"].fill.fgColor.rgb) == ("inspected", "FFFF0000")
    with pytest.raises(TableError, match=r"Records row 3: E must not hold a formula where a value belongs"):
        add_record(path, LOOK | {"who": "Jo"}, today=today)


def test_a_row_goes_before_dressed_rows_further_down(book, today):
    path = book((), lambda workbook, sheet: sheet.set_row(9, 40))
    add_record(path, LOOK, today=today)
    numbers = [int(number.split(b'"')[0]) for number in parts(path)[SHEET].split(b'<row r="')[1:]]
    assert numbers == [1, 2, 10]


def test_a_table_drawn_round_the_rows_grows(book, today):
    def dress(workbook, sheet):
        sheet.add_table("A1:E2", {"columns": [{"header": name} for name in HEAD], "name": "Log"})
        sheet.write_row(1, 0, ["W1", "2018-05-01", "inspected", 120, "Mo"])

    path = book((), dress)
    add_record(path, LOOK, today=today)
    table = openpyxl.load_workbook(path)["Records"].tables["Log"]
    assert (table.ref, table.autoFilter.ref) == ("A1:E3", "A1:E3")


def test_a_workbook_without_records_gets_a_sheet_of_every_column(book, today):
    path = book(head=None)
    before = parts(path)
    assert add_record(path, LOOK, today=today).file == "boats.xlsx sheet records"
    assert cells(path, "records")[1][:5] == ["W1", None, "2026-05-30", 130.5, "inspected"]
    assert openpyxl.load_workbook(path).sheetnames == ["vessels", "items", "records"]
    after = parts(path)
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed <= {
        SHEET,
        "xl/workbook.xml",
        "xl/_rels/workbook.xml.rels",
        "[Content_Types].xml",
    }
    add_record(path, LOOK, today=today, repeat=Repeat.MEANT)
    assert len(load_fleet(path, today=today).records) == 2


def test_a_workbook_that_counts_days_from_1904_gets_the_day_as_text(book, today):
    path = book([["W1", datetime.date(2018, 5, 1), "inspected", 120, ""]], date_1904=True)
    add_record(path, LOOK, today=today)
    assert load_fleet(path, today=today).records["date"].tolist() == [
        pd.Timestamp("2018-05-01"),
        pd.Timestamp("2026-05-30"),
    ]


def test_a_column_of_years_gets_no_day_number(book, today):
    path = book([["W1", 2018, "inspected", 120, ""]])
    add_record(path, LOOK, today=today)
    assert cells(path)[2][1] == "2026-05-30"


def test_a_sheet_written_with_prefixes_and_without_references_is_added_to(book, today):
    path = book(head=["item_id", "date", "event"])
    text = (
        '<?xml version="1.0"?><x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        "<x:sheetData><x:row>{}</x:row></x:sheetData></x:worksheet>"
    )
    heads = "".join(
        f'<x:c t="inlineStr"><x:is><x:t>{name}</x:t></x:is></x:c>' for name in ["item_id", "date"]
    )
    rewrite(path, {SHEET: text.format(heads).encode()})
    assert add_record(path, LOOK, today=today).new_columns == ("hours", "event")
    assert cells(path) == [["item_id", "date", "hours", "event"], ["W1", "2026-05-30", 130.5, "inspected"]]


def test_what_check_would_refuse_leaves_the_workbook_as_it_was(book, today):
    path = book([["W1", "2018-05-01", "inspected", 120, "Mo"]])
    old = path.read_bytes()
    with pytest.raises(TableError, match=r"^boats.xlsx sheet Records row 3: event must be a known word"):
        add_record(path.parent, LOOK | {"event": "explod"}, today=today)
    with pytest.raises(TableError, match=r"Records row 3: hours must be a number, got twelve"):
        add_record(path, LOOK | {"hours": "twelve"}, today=today)
    with pytest.raises(ParameterError, match=r"got colour"):
        add_record(path, LOOK | {"colour": "red"}, today=today)
    assert path.read_bytes() == old


def test_a_workbook_open_in_a_spreadsheet_is_refused(book, today):
    path = book()
    (path.parent / "~$boats.xlsx").write_bytes(b"")
    with pytest.raises(TableError, match=r"boats.xlsx: must be closed in the spreadsheet program first"):
        add_record(path, LOOK, today=today)


def test_a_signed_workbook_is_refused(book, today):
    path = book()
    rewrite(path, {"_xmlsignatures/sig1.xml": b"<Signature/>"})
    with pytest.raises(TableError, match=r"must not be signed, since a record would break the signature"):
        add_record(path, LOOK, today=today)


def test_a_sheet_in_another_encoding_is_refused(book, today):
    path = book()
    sheet = parts(path)[SHEET].decode().replace("UTF-8", "UTF-16").encode("utf-16")
    rewrite(path, {SHEET: sheet})
    with pytest.raises(TableError, match=r"must hold its sheets as UTF-8|must be in order"):
        add_record(path, LOOK, today=today)
