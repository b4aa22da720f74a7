"""A fleet whose boats are all sold: a sentence where no boat is left, a head without rows in csv."""

import csv
import io
import json

import pytest

pytestmark = pytest.mark.thorough

SAID = "All 2 boats of this fleet are sold by 2026-06-01: no risk of theirs is left."
RANKED = (
    ["rank"],
    ["rank", "--levels"],
    ["rank", "--set", "kept=ashore"],
    ["budget", "--amount", "1000"],
    ["exposure"],
    ["lives", "--intervals"],
)


@pytest.fixture(scope="module")
def sold(written, two_boats):
    boats = [boat["vessel_id"] for boat in two_boats["boats"]]
    sales = [{"vessel_id": boat, "date": "2026-05-20", "event": "sold"} for boat in boats]
    records = [*two_boats["records"], *sales]
    return written(**two_boats | {"records": records}, settings="as_of = 2026-06-01\n")


@pytest.mark.parametrize("words", RANKED, ids=" ".join)
def test_a_page_says_so_in_a_sentence_and_is_done(run, sold, words):
    command, *options = words
    result = run(command, sold, *options)
    assert result.exit_code == 0, result.output
    assert SAID in result.stdout
    assert "Note: 2 boats sold: learned from, not ranked." in result.stdout
    assert "not a survey" in " ".join(result.stdout.split())


@pytest.mark.parametrize("words", RANKED, ids=" ".join)
def test_csv_has_the_head_of_a_fleet_with_boats_and_json_no_row(run, sold, small, words):
    command, *options = words
    nothing = run(command, sold, *options, "--format", "csv")
    assert nothing.exit_code == 0, nothing.output
    (head,) = csv.reader(io.StringIO(nothing.stdout))
    assert head == next(csv.reader(io.StringIO(run(command, small, *options, "--format", "csv").stdout)))
    assert json.loads(run(command, sold, *options, "--format", "json").stdout) == []


@pytest.mark.parametrize("words", RANKED, ids=" ".join)
def test_it_is_a_note_under_strict(run, sold, words):
    command, *options = words
    assert run(command, sold, *options, "--strict").exit_code == 4


def test_what_the_sold_boats_taught_is_still_told(run, sold):
    assert "LIVES" in run("lives", sold).stdout
    assert "shaft_packing" in run("lives", sold, "--rows", "--format", "csv").stdout
    assert run("check", sold).exit_code == 0


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["explain", "I0"], 2, "no item I0 in this fleet (2 boats sold, whose parts are not ranked)"),
        (["season", "B1"], 3, "must be a boat still owned: this one was sold, got B1"),
    ],
    ids=["explain", "season"],
)
def test_what_is_asked_about_by_name_is_refused_by_name(run, sold, words, code, says):
    command, name = words
    result = run(command, sold, name)
    assert (result.exit_code, result.stdout) == (code, "")
    assert says in result.stderr


@pytest.mark.parametrize(
    "words", [["rank", "--levels"], ["budget", "--amount", "9"], ["exposure"]], ids=" ".join
)
def test_a_figure_of_nothing_is_not_drawn_and_that_is_said(run, sold, tmp_path, words):
    command, *options = words
    result = run(command, sold, *options, "--figure", tmp_path / "none.svg")
    assert result.exit_code == 0, result.output
    assert "Nothing to draw: no figure was written." in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_plan_of_nothing_is_a_workbook_all_the_same(run, sold, tmp_path):
    result = run("budget", sold, "--amount", "1000", "--out", tmp_path / "plan.xlsx")
    assert result.exit_code == 0, result.output
    assert (tmp_path / "plan.xlsx").read_bytes().startswith(b"PK")
