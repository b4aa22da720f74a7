"""Broken rows on the command line: written to a file, refused by default, gone on without where that is asked for."""

import csv
import io

import pytest


@pytest.fixture(scope="module")
def broken(written):
    """A schedule of three boats: one has no readable value, one a part with a broken row; one part names no boat."""
    boats = [{"vessel_id": "B1"}, {"vessel_id": "B2", "value": "much"}, {"vessel_id": "B3", "value": 70000}]
    items = [
        {"item_class": "bellows_drive", "installed_on": "2022"},
        {"item_class": "bilge_pump", "installed_on": "2022"},
        {"item_class": "bilge_pump", "vessel_id": "B3", "quantity": -2},
        {"item_class": "bilge_pump", "vessel_id": "B9"},
    ]
    return written(items, boats=boats, settings="as_of = 2026-06-01\n")


@pytest.fixture(scope="module")
def hundreds(written):
    """A schedule with 300 broken rows."""
    boats = [{"vessel_id": f"B{n}", "value": "much" if n % 2 else 9000} for n in range(600)]
    return written(boats=boats, settings="as_of = 2026-06-01\n")


def rows(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_check_writes_every_problem(run, hundreds, tmp_path):
    result = run("check", hundreds, "--bad-rows", tmp_path / "bad.csv")
    assert result.exit_code == 3
    found = rows(tmp_path / "bad.csv")
    assert len(found) == 300
    assert found[0] == {
        "file": "vessels.csv",
        "row": "3",
        "column": "value",
        "rule": "must be a number",
        "value": "much",
    }
    assert f"Wrote {tmp_path / 'bad.csv'}: 300 problems." in result.stderr


def test_more_problems_than_a_screen_name_the_option(run, hundreds, broken):
    assert "--bad-rows FILE writes them as a table" in run("check", hundreds).stderr
    assert "--bad-rows" not in run("check", broken).stderr
    refused = run("exposure", hundreds)
    assert refused.exit_code == 3
    assert "... and 100 more problems (all of them: riskmodel check FLEET --bad-rows FILE)" in refused.stderr


def test_a_clean_fleet_leaves_the_head_alone(run, small, tmp_path):
    result = run("check", small, "--bad-rows", tmp_path / "bad.csv")
    assert result.exit_code == 0
    assert rows(tmp_path / "bad.csv") == []


def test_exposure_refuses_by_default_and_writes_them_too(run, broken, tmp_path):
    result = run("exposure", broken, "--bad-rows", tmp_path / "bad.csv")
    assert (result.exit_code, result.stdout) == (3, "")
    assert [row["row"] for row in rows(tmp_path / "bad.csv")] == ["3", "4", "5"]


def test_nothing_is_overwritten_without_force_and_files_differ(run, broken, tmp_path):
    mine = tmp_path / "bad.csv"
    mine.write_text("mine")
    for command in ("check", "exposure"):
        assert run(command, broken, "--bad-rows", mine).exit_code == 2
    assert mine.read_text() == "mine"
    same = tmp_path / "same.csv"
    assert run("exposure", broken, "--bad-rows", same, "--out", same).exit_code == 2


def test_a_missing_column_is_refused_all_the_same(run, written, tmp_path):
    folder = written(settings="as_of = 2026-06-01\n")
    (folder / "vessels.csv").write_text("vessel_id,propulsion\nB1,sterndrive\n")
    result = run("exposure", folder, "--skip-bad")
    assert result.exit_code == 3
    assert "value must be a column" in result.stderr


@pytest.mark.thorough
def test_exposure_goes_on_without_them_and_says_what_is_missing(run, broken, tmp_path):
    result = run("exposure", broken, "--skip-bad", "--bad-rows", tmp_path / "bad.csv")
    assert result.exit_code == 0, result.output
    text = " ".join(result.stdout.split())
    assert (
        "LEFT OUT: 2 of 3 boats, 1 of them of a value that cannot be read and the others worth USD 70,000 (beside "
        "40,000 in this answer), for 3 broken rows in vessels.csv, items.csv." in text
    )
    assert "Of no boat of the schedule: 1 broken row" in text
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert len(rows(tmp_path / "bad.csv")) == 3


@pytest.mark.thorough
def test_rows_say_it_too_and_strict_ends_with_four(run, broken):
    result = run("exposure", broken, "--skip-bad", "--format", "csv", "--strict")
    assert result.exit_code == 4
    left = {
        row["figure"]: float(row["value"])
        for row in csv.DictReader(io.StringIO(result.stdout))
        if row["table"] == "left out"
    }
    assert left == {
        **{"broken_rows": 3, "boats": 2, "value": 70000, "boats_of_unread_value": 1, "homeless_rows": 1},
        **{"rows_vessels": 2, "rows_items": 2},
    }
    assert "Note: 2 of 3 boats" in result.stderr


@pytest.mark.thorough
def test_without_a_broken_row_nothing_is_said(run, small):
    plain, skipping = (run("exposure", small, *words) for words in ((), ("--skip-bad",)))
    assert plain.stdout == skipping.stdout
