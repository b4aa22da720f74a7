"""What stands where a table should and is none: folders, links, pipes, devices, damage, and cells far out."""

import datetime
import os
import zipfile

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet
import pytest
import xlsxwriter

from riskmodel.errors import ParameterError, TableError
from riskmodel.files import content_of, is_plain_file, kind_at, readable, text_of
from riskmodel.fleet import check_fleet, load_fleet
from riskmodel.fleet.sheet_bounds import MOST_CELLS, MOST_COLUMNS, far_cells
from riskmodel.fleet.workbook import read_workbook

TODAY = datetime.date(2026, 6, 1)
NAMES = ("vessels.csv", "items.csv", "records.csv", "settings.toml", "periods.csv", "claims.parquet")


def a_folder(path):
    path.mkdir()


def a_dangling_link(path):
    path.symlink_to(path.parent / "nowhere")


def a_pipe(path):
    os.mkfifo(path)


def a_device(path):
    path.symlink_to("/dev/zero")


def a_circle(path):
    path.symlink_to(path)


@pytest.fixture
def fleet(write, plain):
    return write(**plain)


def problems(path):
    return [str(problem) for problem in check_fleet(path, today=TODAY)]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("put", [a_folder, a_dangling_link, a_pipe, a_device, a_circle])
def test_what_stands_in_the_place_of_a_file_and_is_none_is_refused_by_name(fleet, name, put):
    (fleet / name).unlink(missing_ok=True)
    put(fleet / name)
    found = problems(fleet)
    assert any(each.startswith(f"{name}: must be a plain file, got ") for each in found), found


def test_a_file_that_may_not_be_read_is_refused(fleet, monkeypatch):
    def refuse(path):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    assert problems(fleet)[0] == "vessels.csv: must be a file that can be read, got Permission denied"


@pytest.mark.parametrize("path", ["n" * 5000, "a\0b", "/dev/null", "no/such/fleet"])
def test_a_path_that_leads_to_no_fleet_is_refused(path):
    (found,) = problems(path)
    assert "must be a folder of tables or an .xlsx workbook, got" in found


def test_tables_that_differ_by_capitals_alone_are_refused(fleet):
    (fleet / "Items.CSV").write_text("item_id\n")
    assert any("must not stand beside another" in each for each in problems(fleet))


def test_what_stands_at_a_path_is_named(tmp_path):
    assert kind_at(tmp_path) == "a folder"
    assert kind_at(tmp_path / "none") == ""
    assert kind_at(tmp_path / ("n" * 300)) == "File name too long"
    assert not is_plain_file(tmp_path / "none")
    with pytest.raises(TableError, match="table: must be a plain file, got nothing"):
        content_of(tmp_path / "none", "table")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"a,b\n1,\x00\n", "x.csv row 2: must be saved as UTF-8 text .*, got the byte 0x00"),
        ("a,b\n1,2\n".encode("utf-16"), "x.csv row 1: must be saved as UTF-8 text .*, got the byte 0xff"),
        ("a,b\n1,2\n".encode("utf-16-le"), "x.csv row 1: must be saved as UTF-8 text .*, got the byte 0x00"),
    ],
)
def test_text_in_another_encoding_is_refused_with_its_row(tmp_path, content, says):
    (tmp_path / "x.csv").write_bytes(content)
    with pytest.raises(TableError, match=says):
        text_of(tmp_path / "x.csv")


def test_whatever_a_library_raises_becomes_one_message_that_names_the_file():
    class PanicException(BaseException):
        pass

    for error in (ValueError("odd\nwords"), MemoryError(), PanicException("index out of bounds")):
        with (
            pytest.raises(TableError, match=r"^boats\.xlsx: must be whole, got \w") as refusal,
            readable("boats.xlsx", "must be whole"),
        ):
            raise error
        assert "\n" not in str(refusal.value)
    with pytest.raises(KeyboardInterrupt), readable("boats.xlsx", "must be whole"):
        raise KeyboardInterrupt


def test_a_head_longer_than_a_field_may_be_is_refused(write):
    found = problems(write(vessels=f"vessel_id,propulsion,value,{'x' * 140_000}\nA,outboard,1,\n"))
    assert found == ["vessels.csv: must be readable as CSV, got field larger than field limit (131072)"]


def test_an_empty_frame_without_types_is_an_empty_table(fleet):
    (fleet / "records.csv").unlink()
    columns = ["item_id", "vessel_id", "date", "event", "hours"]
    frame = pd.DataFrame({name: pd.Series([], dtype=object) for name in columns})
    frame.to_parquet(fleet / "records.parquet")
    assert pa.types.is_null(pyarrow.parquet.read_schema(fleet / "records.parquet").field("date").type)
    assert load_fleet(fleet, today=TODAY).records.empty


def test_text_that_does_not_say_so_is_read_as_text(fleet):
    (fleet / "items.csv").unlink()
    (fleet / "records.csv").unlink()
    columns = {
        "item_id": pa.array([b"W1"]),
        "vessel_id": pa.array([b"Wren"], pa.large_binary()),
        "item_class": pa.array(["bilge_pump"]).dictionary_encode(),
        "bore_mm": pa.nulls(1),
    }
    pyarrow.parquet.write_table(pa.table(columns), fleet / "items.parquet")
    assert load_fleet(fleet, today=TODAY).items["vessel_id"].tolist() == ["Wren"]


@pytest.mark.parametrize("seed", range(20))
def test_a_damaged_parquet_file_is_refused_or_read_but_never_a_fault(fleet, seed):
    frame = pd.DataFrame({"item_id": ["W1", "P1"], "vessel_id": ["Wren", "Plover"]})
    frame.assign(item_class="bilge_pump", quantity=[1, 2]).to_parquet(fleet / "items.parquet")
    (fleet / "items.csv").unlink()
    (fleet / "records.csv").unlink()
    random = np.random.default_rng(seed)
    content = bytearray((fleet / "items.parquet").read_bytes())
    if seed % 2:
        content = content[: random.integers(len(content))]
    else:
        for place in random.integers(len(content), size=3):
            content[place] ^= 1 << int(random.integers(8))
    (fleet / "items.parquet").write_bytes(content)
    found = problems(fleet)
    assert all(each.startswith("items.parquet") for each in found)
    assert found or not seed % 2


@pytest.fixture
def sheet(tmp_path):
    """Writes a workbook whose vessels sheet has a plain boat, and these values by row and column (from 0)."""

    def written(cells=(), blank=()):
        book = xlsxwriter.Workbook(tmp_path / "boats.xlsx")
        vessels = book.add_worksheet("vessels")
        vessels.write_row(0, 0, ["vessel_id", "propulsion", "value"])
        vessels.write_row(1, 0, ["Wren", "outboard", 20000])
        for row, column in cells:
            vessels.write(row, column, "stray")
        for row, column in blank:
            vessels.write_blank(row, column, None, book.add_format({"bold": True}))
        book.close()
        return tmp_path / "boats.xlsx"

    return written


@pytest.mark.parametrize(
    ("cells", "named"),
    [
        ([(1048575, 16383)], "XFD1048576"),
        ([(4, 16383)], "XFD5"),
        ([(1048575, 0), (9, 40)], "A1048576"),
        ([(4, MOST_COLUMNS)], "ALM5"),
    ],
)
def test_a_cell_too_far_out_is_refused_by_file_sheet_and_cell(sheet, cells, named):
    (found,) = problems(sheet(cells))
    assert found.startswith(
        f"boats.xlsx sheet vessels row {named.lstrip('ABCDEFGHIJKLMNOPQRSTUVWXYZ')}: must not reach"
    )
    assert found.endswith(f"clear the stray cell, and save, got a value in {named}")


def test_a_cell_at_the_foot_of_a_narrow_sheet_is_a_row_like_others(sheet):
    assert "boats.xlsx sheet vessels row 1048576: propulsion must be given, got nothing" in problems(
        sheet([(1048575, 0)])
    )


def test_cells_that_hold_nothing_but_a_style_do_not_count_however_far_out(sheet):
    assert problems(sheet(blank=[(1048575, 16383)])) == []


def test_a_sheet_that_is_no_table_may_reach_as_far_as_it_likes(tmp_path):
    book = xlsxwriter.Workbook(tmp_path / "boats.xlsx")
    book.add_worksheet("vessels").write_row(0, 0, ["vessel_id", "propulsion", "value"])
    book.get_worksheet_by_name("vessels").write_row(1, 0, ["Wren", "outboard", 20000])
    book.add_worksheet("notes").write(1048575, 16383, "far")
    book.close()
    assert problems(tmp_path / "boats.xlsx") == []


def rewritten(path, change, part="xl/worksheets/sheet1.xml"):
    """The workbook with one of its parts changed."""
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    parts[part] = change(parts[part])
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in parts.items():
            book.writestr(name, content)
    return path


@pytest.mark.parametrize("said", ["A1", "A1:XFD1048576", "ZZZZZZZ99999999999", ""])
def test_what_a_sheet_says_of_its_own_size_is_not_believed(sheet, said):
    path = rewritten(sheet(), lambda xml: xml.replace(b'ref="A1:C2"', f'ref="{said}"'.encode()))
    found = problems(path)
    assert found == [] or found[0].startswith("boats.xlsx sheet vessels: must be an Excel workbook")


@pytest.mark.parametrize(
    "change",
    [
        lambda xml: xml.replace(b' r="A2"', b"").replace(b' r="B2"', b"").replace(b' r="C2"', b""),
        lambda xml: xml.replace(b'r="A2"', b"r='A2'").replace(b"<c r=", b"<c  r ="),
    ],
    ids=["not said", "said otherwise"],
)
def test_cells_that_do_not_say_where_they_stand_are_counted(sheet, change):
    assert problems(rewritten(sheet(), change)) == []


def test_uncounted_cells_in_a_far_row_are_found(sheet):
    def change(xml):
        return (
            xml.replace(b'<row r="2"', b'<row r="1048576"')
            .replace(b' r="A2"', b"")
            .replace(b"C2", b"CCC1048576")
        )

    assert far_cells(rewritten(sheet(), change)) == {"xl/worksheets/sheet1.xml": "CCC1048576"}


@pytest.mark.parametrize(
    "change",
    [
        lambda xml: xml[: len(xml) // 2],
        lambda xml: xml.replace(b"</row>", b"</rows>"),
        lambda xml: b"\x00" + xml,
        lambda xml: b"<worksheet><sheetData><row><c t='s'><v>99</v></c></row></sheetData></worksheet>",
    ],
    ids=["cut", "unclosed", "a NUL", "a text that is not there"],
)
def test_a_damaged_sheet_is_refused(sheet, change):
    found = problems(rewritten(sheet(), change))
    assert len(found) == 1
    assert found[0].startswith("boats.xlsx")


@pytest.mark.parametrize("place", [0.0, 0.3, 0.6, 0.9])
def test_a_cut_or_flipped_zip_is_refused(sheet, place):
    path = sheet()
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * place)])
    assert problems(path)[0].startswith("boats.xlsx: must be an Excel workbook, whole")


def test_two_sheets_of_one_table_are_refused(tmp_path):
    book = xlsxwriter.Workbook(tmp_path / "boats.xlsx")
    for name in ("vessels", "Vessels "):
        book.add_worksheet(name).write_row(0, 0, ["vessel_id", "propulsion", "value"])
    book.close()
    with pytest.raises(
        TableError, match=r"sheet Vessels +: must be the only sheet of its table, got vessels too"
    ):
        read_workbook(tmp_path / "boats.xlsx")


def test_a_full_sheet_of_sixteen_columns_is_within_bounds():
    assert MOST_CELLS >= 16 * 1048576


@pytest.mark.parametrize("day", [datetime.date(1, 1, 1), datetime.date(9999, 12, 31)])
def test_a_day_outside_the_years_that_are_read_is_refused(fleet, day):
    with pytest.raises(ParameterError, match="as_of must lie in the years 1850 to 2200"):
        load_fleet(fleet, as_of=day, today=TODAY)


@pytest.mark.parametrize("key", ["as_of", "claims_from"])
def test_so_is_one_of_the_settings(write, plain, key):
    (found,) = problems(write(**plain, settings=f"{key} = 9999-12-31\n"))
    assert found.startswith(f"settings.toml: {key} must be a day such as")


@pytest.mark.parametrize("name", ["x" * 5000, "a\\u0000b", "/dev/null", "vessels.csv"])
def test_an_overlay_that_is_no_folder_is_refused(write, plain, name):
    (found,) = problems(write(**plain, settings=f'trade = "{name}"\n'))
    assert found.startswith("settings.toml: trade must be a folder of tables beside the fleet's own, got")


@pytest.mark.parametrize(
    ("table", "column", "bound"),
    [
        ("vessels", "value", "1e+15"),
        ("vessels", "length_m", "200"),
        ("items", "quantity", "100000"),
        ("records", "hours", "1e+06"),
        ("records", "reading", "1e+09"),
    ],
)
def test_numbers_beyond_all_reason_are_refused_with_the_bound(write, plain, table, column, bound):
    head, row, *_ = plain[table].splitlines()
    cells = dict(zip(head.split(","), row.split(","), strict=True)) | {column: "1e300"}
    found = problems(write(**{**plain, table: f"{','.join(cells)}\n{','.join(cells.values())}\n"}))
    assert f"{table}.csv row 2: {column} must not be above {bound}, got 1e300" in found


@pytest.mark.parametrize("key", ["delimiter", "decimal", "as_of", "currency", "trade", "kill_limit"])
@pytest.mark.parametrize("value", ["{}", "[]", "[[1]]", "9" * 400])
def test_a_setting_of_another_kind_is_refused_by_its_key(write, plain, key, value):
    (found,) = problems(write(**plain, settings=f"{key} = {value}\n"))
    assert found.startswith(f"settings.toml: {key} must be ")


def test_the_years_that_are_read_leave_room_for_the_season_after_the_last(fleet):
    assert load_fleet(fleet, as_of=datetime.date(2200, 12, 31), today=TODAY).as_of.year == 2200
