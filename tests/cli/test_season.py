"""riskmodel season: page, rows, figure and calendar, whole or not at all, and refusals that help."""

import csv
import io
import json

import pytest

from riskmodel.errors import RiskModelError

pytestmark = pytest.mark.thorough

STARTS = {"png": b"\x89PNG", "pdf": b"%PDF", "svg": b"<?xml"}


@pytest.fixture(scope="module")
def page(once, small):
    return once("season", small, "B1")


def test_a_boat_of_a_fleet_gets_its_page(page):
    assert page.exit_code == 0, page.output
    assert "THE SEASON OF B1" in page.stdout
    assert "MONTH BY MONTH" in page.stdout
    assert page.stderr == "Seen on 2026-06-01 (from its settings.toml).\n"


def test_without_a_fleet_the_demo_is_used_and_said(run):
    result = run("season", "L16")
    assert result.exit_code == 0, result.output
    assert "No fleet named: using the embedded demo fleet." in result.stderr
    assert "THE SEASON OF TEAL (L16)" in result.stdout


def test_a_fleet_of_one_boat_needs_no_name_of_it(run, written):
    boat = written([{"item_class": "bilge_pump"}], settings="as_of = 2026-06-01\n")
    result = run("season", boat)
    assert result.exit_code == 0, result.output
    assert "THE SEASON OF B1" in result.stdout
    assert "demo" not in result.stderr


def test_a_fleet_of_more_boats_by_itself_asks_for_one_of_them(run, small):
    result = run("season", small)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "holds 2 boats: name one of them after it (B1, B2)" in " ".join(result.stderr.split())


@pytest.mark.parametrize("word", ["b2", "my-boat", ""])
def test_a_word_that_is_no_path_and_no_boat_of_the_demo_is_told_so(run, word):
    result = run("season", word)
    said = " ".join(result.stderr.split())
    assert (result.exit_code, result.stdout) == (2, "")
    assert (
        f"{word or 'an empty word'} is neither a folder or workbook that is there nor a boat of the" in said
    )
    assert "demo fleet (L01, " in said
    assert "give a fleet and a boat of it" in said


def test_the_page_ends_with_the_cautions(page, once, small):
    assert page.stdout.endswith(once("rank", small).stdout[-300:])


def test_an_unknown_boat_ends_with_three_and_names_the_nearest(run, small):
    result = run("season", small, "b1")
    assert (result.exit_code, result.stdout) == (3, "")
    assert "vessel_id must be one of the fleet's boats; the nearest is B1, got b1" in result.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "VESSEL"),
        (["a", "b", "c"], "a fleet and one boat"),
        (["B1", "--list", "boats"], "list"),
        (["B1", "--top", "0"], "top"),
        (["B1", "--calendar", "work.txt"], "must end in .ics"),
        (["B1", "--figure", "work.gif"], "must end in"),
        (["B1", "--out", "/no/such/folder/page.txt"], "is not a folder"),
        (["L01", "--until", "2027-01-01", "--months", "3"], "not both"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_word_is_a_usage_error_and_says_which(run, words, says):
    result = run("season", *words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert says in " ".join(result.stderr.replace("│", " ").split())


@pytest.mark.parametrize(
    ("listed", "columns"),
    [
        ("months", {"start", "end", "in_season", "sinking_unattended"}),
        ("totals", {"end_state", "chance", "low", "high", "typical"}),
        ("tasks", {"group", "due", "item_id", "task", "skill", "cost", "why", "currency"}),
        ("materials", {"material", "low", "high", "unit", "need_by"}),
    ],
)
def test_rows_are_csv_and_json_alike(once, small, listed, columns):
    text = once("season", small, "B1", "--format", "csv", "--list", listed).stdout
    rows = list(csv.DictReader(io.StringIO(text)))
    told = json.loads(once("season", small, "B1", "--format", "json", "--list", listed).stdout)
    assert columns | {"vessel_id", "as_of", "until"} <= set(rows[0])
    assert len(rows) == len(told)
    assert list(rows[0]) == list(told[0])


def test_a_drive_is_not_harmed_while_the_boat_stands_ashore(run, written):
    items = [
        {"item_class": "sacrificial_anode", "installed_on": "2024-05-02"},
        {"item_class": "deck_bedding"},
    ]
    folder = written(items, boats=[{"core": "balsa"}], settings="as_of = 2026-11-02\n")
    (folder / "periods.csv").write_text("vessel_id,from,to,state\nB1,10-16,04-14,ashore\n")
    told = run("season", folder, "B1", "--until", "2027-10-15", "--format", "csv", "--list", "months")
    rows = list(csv.DictReader(io.StringIO(told.stdout)))
    ashore = [row for row in rows if row["start"] < "2027-04-01"]
    assert len(ashore) == 5
    assert {float(row["machinery_damage"]) for row in ashore} == {0.0}
    assert all(float(row["structural_damage"]) > 0 for row in ashore)
    assert all(float(row["machinery_damage"]) > 0 for row in rows if row not in ashore)


def test_months_ahead_may_be_asked_for(once, small):
    rows = json.loads(once("season", small, "B1", "--months", "3", "--format", "json").stdout)
    assert [row["start"] for row in rows] == ["2026-06-01", "2026-07-01", "2026-08-01"]
    assert rows[-1]["end"] == "2026-09-01"


def test_files_are_written_beside_the_page_and_no_others(run, small, page, tmp_path):
    figure, calendar = tmp_path / "season.png", tmp_path / "season.ics"
    result = run("season", small, "B1", "--figure", figure, "--calendar", calendar)
    assert result.exit_code == 0, result.output
    assert result.stdout == page.stdout
    assert figure.read_bytes().startswith(STARTS["png"])
    assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["season.ics", "season.png"]


def test_the_calendar_is_the_same_bytes_each_time(run, small, tmp_path):
    files = [tmp_path / "a.ics", tmp_path / "b.ics"]
    for file in files:
        run("season", small, "B1", "--calendar", file, "--quiet")
    assert files[0].read_bytes() == files[1].read_bytes()


@pytest.mark.parametrize("option", ["--figure", "--calendar", "--out"])
def test_somebodys_own_file_is_not_overwritten_without_force(run, small, tmp_path, option):
    file = tmp_path / {"--figure": "mine.png", "--calendar": "mine.ics", "--out": "mine.txt"}[option]
    file.write_bytes(b"mine")
    result = run("season", small, "B1", option, file)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert file.read_bytes() == b"mine"
    assert run("season", small, "B1", option, file, "--force").exit_code == 0
    assert file.read_bytes() != b"mine"


def test_each_file_needs_a_name_of_its_own(run, small, tmp_path):
    one = tmp_path / "season.ics"
    result = run("season", small, "B1", "--calendar", one, "--out", one)
    assert result.exit_code == 2
    assert "must name different files" in " ".join(result.stderr.split())


def test_bad_data_writes_nothing(run, bad, tmp_path):
    assert run("season", bad, "B1", "--calendar", tmp_path / "season.ics").exit_code == 3
    assert list(tmp_path.iterdir()) == []


def test_strict_ends_with_four_when_something_was_assumed(run, written):
    result = run("season", written(boats=[{}], settings="as_of = 2026-06-01\n"), "B1", "--strict")
    assert result.exit_code == 4
    assert "and --strict was given" in result.stderr


def test_notes_go_to_stderr_where_rows_are_asked_for(run):
    result = run("season", "L25", "--format", "csv")
    assert "Note: 1 of 25 boats without a list of parts" in result.stderr
    assert run("season", "L25", "--format", "csv", "--quiet").stderr == ""


def test_debug_lets_the_fault_through(run, small):
    assert isinstance(run("season", small, "nobody", "--debug").exception, RiskModelError)


def test_the_command_explains_itself(run):
    assert "[FLEET] VESSEL" in run("season", "--help").stdout
    assert "season" in run("--help").stdout
