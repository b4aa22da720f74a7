"""Words and files that lie beyond what is read: each is one message with its exit code, and nothing is written."""

from __future__ import annotations

import os
import zipfile

import pytest
import xlsxwriter

from .cases import TABLES, TRADE_FOLDER, Case, plain_files, shipped_trade


@pytest.fixture
def fleet(tmp_path):
    (tmp_path / "boats").mkdir()
    return Case(plain_files(), ()).write(tmp_path / "boats")


def with_cell(table, column, value):
    head, row, *more = TABLES[table].splitlines()
    names = head.split(",")
    cells = row.split(",")
    cells[names.index(column)] = value
    return "\n".join([head, ",".join(cells), *more]) + "\n"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--as-of", "0001-01-01"], "as_of must lie in the years 1850 to 2200"),
        (["--as-of", "9999-12-31"], "as_of must lie in the years 1850 to 2200"),
        (["--months", "100000"], "months must be at most 1,200"),
        (["--until", "9999-12-31"], "until must lie within 100 years"),
        (["--until", "0001-01-01"], "until must lie after 2026-06-01"),
    ],
)
def test_a_day_beyond_what_is_read_is_a_usage_error(ended, fleet, words, says):
    result = ended("rank", fleet, *words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert says in result.stderr


def test_the_whole_fleet_is_cleared_else_no_damage_would_be_seen(ended, fleet):
    result = ended("check", fleet)
    assert result.exit_code == 0, result


def test_a_fleet_with_a_nul_in_its_path_is_a_usage_error(ended):
    result = ended("check", "a\0b")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "null byte" in result.stderr


@pytest.mark.parametrize("path", ["n" * 5000, "/dev/null", "", "\u202e"])
@pytest.mark.parametrize("command", ["check", "rank"])
def test_a_fleet_that_no_path_can_lead_to_is_bad_data(ended, tmp_path, monkeypatch, command, path):
    monkeypatch.chdir(tmp_path)
    result = ended(command, path)
    assert result.exit_code == 3
    assert "must " in result.stdout + result.stderr


@pytest.mark.parametrize(
    ("file", "content", "says"),
    [
        ("items.csv", "x" * 131_073 + TABLES["items"], "field larger than field limit"),
        (
            "items.csv",
            with_cell("items", "quantity", "1e308"),
            "items.csv row 2: quantity must not be above 100000",
        ),
        (
            "vessels.csv",
            with_cell("vessels", "value", "1e308"),
            "vessels.csv row 2: value must not be above 1e+15",
        ),
        (f"{TRADE_FOLDER}/clases.csv", shipped_trade("classes"), "clases.csv"),
    ],
    ids=["a long head", "quantity", "value", "a misnamed trade table"],
)
@pytest.mark.parametrize("command", ["check", "rank"])
def test_what_no_table_holds_is_refused_by_file_row_and_column(ended, fleet, command, file, content, says):
    (fleet / TRADE_FOLDER).mkdir()
    (fleet / "settings.toml").write_text(f'trade = "{TRADE_FOLDER}"\n')
    (fleet / file).write_text(content)
    result = ended(command, fleet)
    assert result.exit_code == 3
    assert says in result.stdout + result.stderr


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16"])
def test_a_trade_table_in_another_encoding_is_refused(ended, fleet, encoding):
    (fleet / TRADE_FOLDER).mkdir()
    (fleet / "settings.toml").write_text(f'trade = "{TRADE_FOLDER}"\n')
    text = shipped_trade("classes").replace("Shaft", "Schäft")
    (fleet / TRADE_FOLDER / "classes.csv").write_bytes(text.encode(encoding))
    result = ended("check", fleet)
    assert result.exit_code == 3
    assert "classes.csv row" in result.stdout
    assert "must be saved as UTF-8 text" in result.stdout


@pytest.mark.parametrize("put", ["a folder", "a pipe", "a link"])
def test_settings_that_are_no_plain_file_are_refused(ended, fleet, put):
    path = fleet / "settings.toml"
    path.unlink()
    makers = {
        "a folder": path.mkdir,
        "a pipe": lambda: os.mkfifo(path),
        "a link": lambda: path.symlink_to("nowhere"),
    }
    makers[put]()
    result = ended("check", fleet)
    assert result.exit_code == 3
    assert "settings.toml: must be a plain file" in result.stdout


@pytest.mark.parametrize("named", [True, False])
def test_a_workbook_with_damaged_properties_is_refused_by_name(ended, tmp_path, named):
    path = tmp_path / "boats.xlsx"
    book = xlsxwriter.Workbook(path)
    book.add_worksheet("vessels")
    book.close()
    content = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as parts:
        part = parts.getinfo("docProps/core.xml")
    start = part.header_offset + 30 + len(part.filename)
    content[start : start + part.compress_size] = b"\xff" * part.compress_size
    path.write_bytes(content)
    result = ended("check", path if named else tmp_path)
    assert result.exit_code == 3, result
    assert "boats.xlsx: must be an Excel workbook" in result.stdout
