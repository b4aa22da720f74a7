"""The end of a file's name and what is written into it: one promises nothing that the other does not hold."""

import re
from pathlib import Path

import pytest
import typer
from riskmodel.cli.options import Format
from riskmodel.cli.suffixes import refuse_other_suffix, refuse_unless

COMMANDS = {
    "rank": (),
    "season": ("L01",),
    "lives": (),
    "explain": ("L01-bellows-drive-1",),
    "check": (),
    "budget": ("--amount", "5000"),
    "exposure": (),
}


@pytest.mark.parametrize(
    ("name", "form"),
    [
        *((name, Format.TABLE) for name in ("page", "page.txt", "PAGE.TXT", "page.md", "page.out", "a.2026")),
        *((name, Format.CSV) for name in ("rows.csv", "rows.CSV", "rows.txt", "rows", "rows.dat")),
        *((name, Format.JSON) for name in ("rows.json", "rows.txt", "rows")),
    ],
)
def test_a_name_that_promises_the_form_or_nothing_is_taken(name, form):
    assert refuse_other_suffix(Path(name), form) is None


@pytest.mark.parametrize(
    ("name", "form", "says"),
    [
        (
            "page.html",
            Format.TABLE,
            "a page is plain text (.txt), no .html; for other programs: --format csv --out",
        ),
        ("page.HTM", Format.TABLE, "no .htm"),
        ("page.pdf", Format.TABLE, "no .pdf"),
        ("page.docx", Format.TABLE, "no .docx"),
        ("page.xlsx", Format.TABLE, "no .xlsx"),
        ("page.png", Format.TABLE, "figures are drawn by --figure"),
        ("page.csv", Format.TABLE, "no .csv; --format csv writes .csv"),
        ("page.json", Format.TABLE, "no .json; --format json writes .json"),
        ("rows.json", Format.CSV, "--format csv writes .csv, no .json; --format json writes .json"),
        ("rows.md", Format.CSV, "--format csv writes .csv, no .md; --format table writes .md"),
        ("rows.csv", Format.JSON, "--format json writes .json, no .csv; --format csv writes .csv"),
        ("rows.csv.gz", Format.CSV, "no .gz"),
    ],
)
def test_a_name_that_promises_another_form_is_refused_with_what_to_do(name, form, says):
    with pytest.raises(typer.BadParameter, match=re.escape(says)):
        refuse_other_suffix(Path(name), form)


def test_a_form_that_goes_by_the_name_is_taken_and_no_format_beside_it():
    assert refuse_other_suffix(Path("plan.xlsx"), Format.TABLE, (".xlsx",)) is None
    with pytest.raises(typer.BadParameter, match=r"for \.xlsx leave --format away"):
        refuse_other_suffix(Path("plan.xlsx"), Format.CSV, (".xlsx",))
    with pytest.raises(typer.BadParameter, match=r"for other programs: --out NAME\.xlsx, or --format csv"):
        refuse_other_suffix(Path("plan.ods"), Format.TABLE, (".xlsx",))


def test_a_file_of_one_form_only_says_which():
    assert refuse_unless(Path("bad.csv"), Format.CSV) is None
    assert refuse_unless(None, Format.CSV) is None
    with pytest.raises(typer.BadParameter, match=r"what is written there is CSV: give it a name in \.csv"):
        refuse_unless(Path("bad.xlsx"), Format.CSV)


@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_writes_plain_text_as_a_page_for_a_browser(run, tmp_path, command):
    result = run(command, *COMMANDS[command], "--out", tmp_path / "page.html")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "plain text (.txt), no .html" in " ".join(result.stderr.split())
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words",
    [
        ("check", "--bad-rows", "bad.html"),
        ("exposure", "--bad-rows", "bad.xlsx"),
        ("lives", "--save", "lives.csv"),
    ],
    ids=lambda words: words[0],
)
def test_other_files_are_asked_too(run, tmp_path, words):
    result = run(*words[:2], tmp_path / words[2])
    assert result.exit_code == 2
    assert "what is written there is" in " ".join(result.stderr.split())
