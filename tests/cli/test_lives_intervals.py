"""riskmodel lives --intervals: as a page, csv or json; by circumstance; and what does not go with it."""

import io
import json

import pandas as pd
import pytest

pytestmark = pytest.mark.thorough


def test_the_page_keeps_to_eighty_columns(once, small):
    result = once("lives", small, "--intervals")
    assert result.exit_code == 0, result.output
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert "INTERVALS" in result.stdout
    assert "seen on 2026-06-01" in result.stdout


def test_csv_and_json_hold_the_same_classes(once, small):
    csv = pd.read_csv(io.StringIO(once("lives", small, "--intervals", "--format", "csv").stdout))
    rows = json.loads(once("lives", small, "--intervals", "--format", "json").stdout)
    assert csv["item_class"].tolist() == [row["item_class"] for row in rows]
    assert "advised_age" in rows[0]
    pumps = csv.set_index("item_class").loc["bilge_pump"]
    assert pd.isna(pumps["trade_age"])
    assert pd.isna(pumps["advised_age"])


def test_one_class_by_circumstance(once, small):
    words = ("lives", small, "--intervals", "--item-class", "bilge_pump", "--by", "propulsion, kept")
    frame = pd.read_csv(io.StringIO(once(*words, "--format", "csv").stdout))
    assert frame["item_class"].unique().tolist() == ["bilge_pump"]
    assert frame[["propulsion", "kept"]].values.tolist() == [
        ["sail_shaft", "mooring"],
        ["sterndrive", "afloat"],
    ]


def test_two_pages_at_once_are_refused(once, small):
    result = once("lives", small, "--intervals", "--rows")
    assert result.exit_code == 2
    assert "two pages" in result.stderr


def test_circumstances_without_intervals_are_refused(once, small):
    result = once("lives", small, "--by", "kept")
    assert result.exit_code == 2
    assert "--by goes with --intervals" in result.stderr


def test_a_circumstance_that_is_no_column_is_refused(once, small):
    result = once("lives", small, "--intervals", "--by", "colour")
    assert result.exit_code == 2
    assert "columns of the vessels, got colour" in result.stderr


def test_a_class_that_is_not_carried_is_refused(once, small):
    result = once("lives", small, "--intervals", "--item-class", "bilge_pomp")
    assert result.exit_code == 2
    assert "the nearest is bilge_pump" in result.stderr
