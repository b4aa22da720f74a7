"""Pages fit a terminal narrower than 80, down to 40; files, and streams that nobody called narrow, are 80 wide."""

import os
import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from riskmodel.cli.width import as_wide_as

from riskmodel.report.text import NARROWEST, WIDTH, page_width

# A number or interval broken over two lines.
BROKEN = re.compile(r"[0-9][,.-]\n *[0-9]")


def widest(text):
    return max(len(line) for line in text.splitlines())


def in_columns(monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", str(columns))


@pytest.mark.parametrize(
    ("columns", "width"),
    [("60", 60), ("1", NARROWEST), ("200", WIDTH), ("", WIDTH), ("wide", WIDTH), ("-5", WIDTH), ("0", WIDTH)],
)
def test_a_page_is_as_wide_as_columns_says(monkeypatch, columns, width):
    monkeypatch.setenv("COLUMNS", columns)
    with as_wide_as(None):
        assert page_width() == width
    with as_wide_as(Path("page.txt")):
        assert page_width() == WIDTH


def test_a_number_of_columns_that_is_none_is_passed_over(monkeypatch):
    monkeypatch.setenv("COLUMNS", "9" * 5000)
    with as_wide_as(None):
        assert page_width() == WIDTH


def test_a_terminal_tells_its_own_width(monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.setattr("sys.stdout", SimpleNamespace(fileno=lambda: 1))
    monkeypatch.setattr("os.get_terminal_size", lambda _: os.terminal_size((50, 20)))
    with as_wide_as(None):
        assert page_width() == 50


def test_no_standard_output_has_no_width(monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.setattr("sys.stdout", None)
    with as_wide_as(None):
        assert page_width() == WIDTH


def test_a_page_on_a_narrow_terminal_fits_it(run, small, monkeypatch):
    in_columns(monkeypatch, 50)
    assert widest(run("check", small).stdout) <= 50


def test_a_file_is_of_full_width(run, small, monkeypatch, tmp_path):
    plain = run("check", small, "--quiet").stdout
    in_columns(monkeypatch, 40)
    assert run("check", small, "--quiet", "--out", tmp_path / "page.txt").exit_code == 0
    assert (tmp_path / "page.txt").read_text("utf-8") == plain


def test_csv_and_json_have_no_width(run, small, bad, monkeypatch):
    before = [run("check", bad, "--format", form).stdout for form in ("csv", "json")]
    in_columns(monkeypatch, 40)
    assert [run("check", bad, "--format", form).stdout for form in ("csv", "json")] == before


@pytest.mark.thorough
@pytest.mark.parametrize("columns", [60, 40])
@pytest.mark.parametrize(
    "words",
    [
        *(("rank",), ("rank", "--levels"), ("rank", "--set", "checked_every_days=3"), ("lives",)),
        *(("lives", "--rows"), ("lives", "--intervals"), ("lives", "--item-class", "bellows_drive")),
        *(("explain", "I0"), ("season", "B1"), ("budget", "--amount", 900), ("exposure", "--by", "kept")),
    ],
    ids=lambda words: "-".join(str(word).strip("-") for word in words),
)
def test_every_page_fits_a_narrow_terminal_and_breaks_no_number(run, small, monkeypatch, words, columns):
    command, *rest = words
    where = [small, rest.pop(0)] if command in ("explain", "season") else [small]
    in_columns(monkeypatch, columns)
    result = run(command, *where, *rest, "--quiet")
    assert result.exit_code in (0, 5), result.output
    assert widest(result.stdout) <= columns
    assert not BROKEN.search(result.stdout)
