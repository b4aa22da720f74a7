"""riskmodel lives --rows: each life beside its row, as a page, csv or json."""

import io
import json

import pandas as pd
import pytest

DATES = ["made_from", "made_to", "installed_from", "installed_to", "ended_from", "ended_to"]


def read_csv(text):
    return pd.read_csv(io.StringIO(text))


@pytest.fixture(scope="module")
def csv(once, small):
    return read_csv(once("lives", small, "--rows", "--format", "csv").stdout)


def test_the_page_keeps_to_eighty_columns(once, small):
    result = once("lives", small, "--rows")
    assert result.exit_code == 0, result.output
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert "As recorded" in result.stdout
    assert "seen on 2026-06-01" in result.stdout


def test_csv_parses_back_with_its_dates_and_ages(csv):
    assert csv.columns.tolist()[:3] == ["item_id", "item_class", "life"]
    assert csv.columns.tolist()[3:9] == DATES
    known = csv["installed_to"].dropna()
    assert (pd.to_datetime(known, format="%Y-%m-%d") <= "2026-06-01").all()
    assert (csv["entry"] <= csv["lower"]).all()
    assert not (csv["upper"] < csv["lower"]).any()
    assert (csv["count"] > 0).all()


def test_the_failure_on_record_is_there(csv):
    # I3, a float switch, was found failed by its test of 5 May 2026.
    (row,) = csv[csv["item_id"] == "I3"].to_dict("records")
    assert row["recorded"] == "found failed"
    assert row["ended_to"] == "2026-05-05"


def test_json_says_the_same_as_csv(once, small, csv):
    rows = json.loads(once("lives", small, "--rows", "--format", "json").stdout)
    assert list(rows[0]) == csv.columns.tolist()
    assert [row["item_id"] for row in rows] == csv["item_id"].tolist()
    assert [row["lower"] for row in rows] == pytest.approx(csv["lower"].tolist(), abs=1e-9)


def test_a_survivors_upper_age_is_null_in_json_and_empty_in_csv(once, small, csv):
    rows = json.loads(once("lives", small, "--rows", "--format", "json").stdout)
    whole = csv["upper"].isna().tolist()
    assert any(whole)
    assert [row["upper"] is None for row in rows] == whole


def test_one_class_has_its_own_rows_alone(run, small, csv):
    frame = read_csv(run("lives", small, "--rows", "--item-class", "shaft_packing", "--format", "csv").stdout)
    assert set(frame["item_class"]) == {"shaft_packing"}
    assert len(frame) == (csv["item_class"] == "shaft_packing").sum()


def test_an_unknown_class_is_a_usage_error(run, small):
    result = run("lives", small, "--rows", "--item-class", "bellows_drve")
    assert result.exit_code == 2
    assert "bellows_drve" in result.stderr


def test_rows_go_to_the_file_asked_for(run, small, tmp_path, once):
    result = run("lives", small, "--rows", "--out", tmp_path / "rows.txt")
    assert (result.exit_code, result.stdout) == (0, "")
    assert (tmp_path / "rows.txt").read_text("utf-8") == once("lives", small, "--rows").stdout


def test_a_fleet_without_records_says_that_no_life_was_watched(run, written):
    folder = written([{"item_class": "bilge_pump", "installed_on": "2019"}], settings="as_of = 2026-06-01\n")
    result = run("lives", folder, "--rows")
    assert result.exit_code == 0, result.output
    assert "No record has watched such a life yet." in result.stdout
    assert json.loads(run("lives", folder, "--rows", "--format", "json").stdout) == []


def test_an_impossible_reading_is_refused_by_its_row(run, written):
    record = {"item_id": "I0", "date": "2025-05-01", "event": "inspected"}
    bad = record | {"reading": -3, "reading_unit": "drips/min turning"}
    folder = written([{"item_class": "shaft_packing", "installed_on": "2019"}], [bad])
    result = run("lives", folder, "--rows", "--as-of", "2026-06-01")
    assert result.exit_code not in (0, 1)
    assert "records row 2: reading must be 0 or more, got -3" in result.stderr
    assert "Traceback" not in result.output


def test_one_renewal_written_down_twice_is_no_life_that_ended_at_age_0(run, written):
    items = [{"item_class": "bellows_drive"}]
    once_told = [
        {"item_id": "I0", "date": "2015-05-01", "event": "installed"},
        {"item_id": "I0", "date": "2021-06-10", "event": "failed"},
        {"item_id": "I0", "date": "2021-06", "event": "replaced", "reason": "failure"},
    ]
    again = [{"item_id": "I0", "date": "2021-06-10", "event": "replaced", "reason": "failure"}]
    rows = [
        read_csv(run("lives", folder, "--rows", "--format", "csv").stdout)
        for folder in (
            written(items, records, settings="as_of = 2026-06-01\n")
            for records in (once_told, [*once_told, *again, *again], [*again, *once_told])
        )
    ]
    for each in rows:
        assert each["recorded"].tolist() == ["failed in service"]
        assert each["upper"].tolist() == pytest.approx([6.11], abs=0.01)
