"""Formats, files and horizons: csv and json parse back, --out writes whole, the same words print the same bytes."""

import errno
import io
import json

import pandas as pd
import pytest

pytestmark = pytest.mark.thorough

GLOSSARY = [
    *("item_id", "vessel_id", "item_class", "position", "age_years", "hours", "failure_probability"),
    *("failure_low", "failure_high", "sinking_probability", "fire_probability", "expected_loss", "loss_low"),
    *("loss_high", "severity", "best_task", "task_cost", "loss_averted", "averted_per_cost", "rank"),
    *("rank_low", "rank_high", "top_probability", "why"),
]


def read_csv(text):
    return pd.read_csv(io.StringIO(text))


def test_csv_parses_back_and_holds_the_glossarys_columns(run, small):
    frame = read_csv(run("rank", small, "--format", "csv").stdout)
    assert [column for column in frame.columns if column in GLOSSARY] == GLOSSARY
    assert frame["rank"].tolist() == list(range(1, 12))


def test_json_says_the_same_as_csv(run, small):
    frame = read_csv(run("rank", small, "--format", "csv").stdout)
    rows = json.loads(run("rank", small, "--format", "json").stdout)
    assert [row["item_id"] for row in rows] == frame["item_id"].tolist()
    assert [row["expected_loss"] for row in rows] == pytest.approx(frame["expected_loss"].tolist(), abs=1e-9)
    assert list(rows[0]) == list(frame.columns)


def test_a_missing_number_is_empty_in_csv_and_null_in_json(run, small):
    frame = read_csv(run("rank", small, "--format", "csv").stdout).set_index("item_id")
    rows = {row["item_id"]: row for row in json.loads(run("rank", small, "--format", "json").stdout)}
    assert pd.isna(frame.loc["I6", "age_years"])
    assert rows["I6"]["age_years"] is None


def test_lives_parse_back_with_a_row_a_class(run, small):
    frame = read_csv(run("lives", small, "--format", "csv").stdout)
    assert {"item_class", "age_10", "age_10_low", "age_10_high", "failures", "survivors"} <= set(
        frame.columns
    )
    assert (frame["age_10_low"] <= frame["age_10_high"]).all()
    assert frame["item_class"].is_unique


def test_one_class_of_lives_keeps_to_the_format_asked_for(run, small):
    frame = read_csv(run("lives", small, "--item-class", "bilge_pump", "--format", "csv").stdout)
    assert frame["item_class"].tolist() == ["bilge_pump"]
    assert json.loads(run("lives", small, "--item-class", "bilge_pump", "--format", "json").stdout)


def test_explanations_parse_back_with_a_source_each(run, small):
    rows = json.loads(run("explain", small, "I5", "--format", "json").stdout)
    assert set(rows[0]) == {"section", "what", "value", "source"}
    assert all(row["source"] for row in rows)


def test_problems_parse_back_with_file_row_column_rule_and_value(run, bad):
    result = run("check", bad, "--format", "csv")
    frame = read_csv(result.stdout)
    assert result.exit_code == 3
    assert list(frame.columns) == ["file", "row", "column", "rule", "value"]
    assert frame["row"].tolist() == [2, 3, 4]


def test_a_clean_fleet_has_an_empty_list_of_problems(run, small):
    assert json.loads(run("check", small, "--format", "json").stdout) == []
    assert run("check", small, "--format", "csv").stdout == "file,row,column,rule,value\n"


@pytest.mark.parametrize("form", ["csv", "json"])
def test_what_was_assumed_is_on_stderr_where_the_format_has_no_place_for_it(run, written, form):
    fleet = written(boats=[{}], settings="as_of = 2026-06-01\n")
    result = run("rank", fleet, "--format", form)
    assert "Note: 1 of 1 boat without a list of parts: the typical outfit" in result.stderr
    assert "Note:" not in run("rank", fleet, "--format", form, "--quiet").stderr
    assert "Note:" not in run("rank", fleet).stderr


@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_the_same_words_print_the_same_bytes(run, small, form):
    one, other = (run("rank", small, "--format", form).stdout_bytes for _ in range(2))
    assert one == other


def test_out_writes_what_would_have_been_printed(run, small, tmp_path):
    out = tmp_path / "rank.csv"
    result = run("rank", small, "--format", "csv", "--out", out)
    assert (result.exit_code, result.stdout) == (0, "")
    assert out.read_text("utf-8") == run("rank", small, "--format", "csv").stdout
    assert [path.name for path in tmp_path.iterdir()] == ["rank.csv"]


def test_out_never_overwrites_without_force(run, small, tmp_path):
    out = tmp_path / "rank.txt"
    out.write_text("mine")
    result = run("rank", small, "--out", out)
    assert result.exit_code == 2
    assert "give --force" in " ".join(result.stderr.split())
    assert out.read_text() == "mine"
    assert run("rank", small, "--out", out, "--force").exit_code == 0
    assert out.read_text("utf-8").startswith("boats")


def test_a_write_that_fails_leaves_the_old_file_whole(run, small, tmp_path, monkeypatch):
    out = tmp_path / "rank.txt"
    out.write_text("mine")

    def full(*_args):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    # What the system refuses is no fault of ours: it is said as one message with a remedy.
    result = run("rank", small, "--out", out, "--force")
    assert result.exit_code == 2
    assert "rank.txt: No space left on device: free some space there" in result.stderr
    assert out.read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["rank.txt"]


def test_the_day_asked_for_is_used_and_said(run, small):
    result = run("rank", small, "--as-of", "2025-06-01")
    assert "Seen on 2025-06-01 (as asked)." in result.stderr
    assert "seen on 2025-06-01, up to 2026-06-01" in result.stdout


def test_until_and_months_set_the_end(run, small):
    assert "up to 2026-12-24 (as asked)" in run("rank", small, "--until", "2026-12-24").stdout
    assert "up to 2026-09-01 (3 months)" in run("rank", small, "--months", "3").stdout


def test_looking_further_finds_more(run, small):
    chances = [
        read_csv(run("rank", small, "--months", months, "--format", "csv").stdout)[
            "failure_probability"
        ].sum()
        for months in (1, 24)
    ]
    assert chances[0] < chances[1]


def test_top_shows_so_many_and_counts_the_rest(run, small):
    shown = run("rank", small, "--top", "1").stdout
    assert "more: ask for --top" in shown
    assert len(shown) < len(run("rank", small, "--top", "30").stdout)


def test_the_seed_moves_the_bands(run, small):
    one, other = (read_csv(run("rank", small, "--seed", seed, "--format", "csv").stdout) for seed in (1, 2))
    assert (
        one.set_index("item_id")["loss_high"] != other.set_index("item_id")["loss_high"].loc[one["item_id"]]
    ).any()
