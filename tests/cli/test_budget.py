"""riskmodel budget: pages, rows, books and figures, and exit code 5 when the floors cannot be met."""

import csv
import io
import json

import openpyxl
import pytest

pytestmark = pytest.mark.thorough

STARTS = {"png": b"\x89PNG", "pdf": b"%PDF", "svg": b"<?xml"}


@pytest.fixture(scope="module")
def enough(once, small):
    return once("budget", small, "--amount", 5000)


def test_a_page_is_printed(enough):
    assert enough.exit_code == 0, enough.output
    assert "BEFORE THE BOAT IS USED AGAIN" in enough.stdout
    assert "Of USD 5,000 the plan spends" in enough.stdout


def test_without_a_fleet_the_demo_is_used_and_said(once):
    result = once("budget", "--amount", 8000)
    assert result.exit_code == 0, result.output
    assert "embedded demo fleet" in result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_an_amount_is_needed(run, small):
    result = run("budget", small)
    assert result.exit_code == 2
    assert "--amount" in result.stderr


def test_an_amount_below_nothing_is_refused(run, small):
    assert run("budget", small, "--amount", -5).exit_code == 2


@pytest.mark.parametrize("amount", ["1e18", "inf", "nan"])
def test_an_amount_that_is_no_money_is_a_usage_error(run, small, amount):
    result = run("budget", small, "--amount", amount)
    assert result.exit_code == 2
    assert "amount" in result.stderr
    assert result.stdout == ""


def test_floors_that_the_money_does_not_meet_end_in_five(once, small):
    result = once("budget", small, "--amount", 1)
    assert result.exit_code == 5
    assert "NOT ENOUGH" in result.stdout
    assert "keep ashore, or attended" in result.stdout
    assert "No plan for this money satisfies what comes first." in result.stderr


def test_rows_end_in_five_too_and_say_what_to_do_instead(once, small):
    result = once("budget", small, "--amount", 1, "--format", "csv")
    assert result.exit_code == 5
    advice = [line for line in result.stderr.splitlines() if "keep ashore, or attended" in line]
    assert advice
    # Boats by their names, as the page has them.
    page = once("budget", small, "--amount", 1).stdout
    assert all(f"\n{line.split(':')[0]}: keep" in page for line in advice)


def test_five_comes_before_four(run, small):
    assert run("budget", small, "--amount", 1, "--strict").exit_code == 5


def test_rows_are_the_work(once, small):
    result = once("budget", small, "--amount", 5000, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    wanted = {"vessel_id", "item_id", "task", "date", "cost", "averted", "averted_life", "reason", "currency"}
    assert wanted <= set(rows[0])
    assert sum(float(row["cost"]) for row in rows) <= 5000
    assert rows[0]["as_of"] == "2026-06-01"


def test_rows_may_be_json(once, small):
    rows = json.loads(once("budget", small, "--amount", 5000, "--format", "json").stdout)
    assert {row["reason"] for row in rows} <= {"known defect", "can kill", "sinks", "money"}


def test_more_money_never_averts_less(once, small):
    def averted(amount):
        rows = json.loads(once("budget", small, "--amount", amount, "--format", "json").stdout or "[]")
        return sum(row["averted"] for row in rows)

    found = [averted(amount) for amount in (0, 400, 900, 2000, 5000)]
    assert found == sorted(found)


def test_yard_hours_may_be_asked_for(once, small):
    result = once("budget", small, "--amount", 5000, "--yard-hours", 2)
    assert result.exit_code in (0, 5)
    assert "yard's hours" in result.stdout or "NOT ENOUGH" in result.stdout


@pytest.mark.parametrize("kind", STARTS)
def test_a_figure_is_drawn_beside_the_page(run, small, enough, tmp_path, kind):
    figure = tmp_path / f"plan.{kind}"
    result = run("budget", small, "--amount", 5000, "--figure", figure)
    assert result.exit_code == 0, result.output
    assert figure.read_bytes().startswith(STARTS[kind])
    assert result.stdout == enough.stdout
    assert [path.name for path in tmp_path.iterdir()] == [figure.name]


def test_a_figure_of_another_kind_is_refused_before_any_work(run, small, tmp_path):
    result = run("budget", small, "--amount", 5000, "--figure", tmp_path / "plan.doc")
    assert result.exit_code == 2
    assert list(tmp_path.iterdir()) == []


def test_a_workbook_is_written_where_the_name_asks_for_one(run, small, tmp_path):
    out = tmp_path / "plan.xlsx"
    result = run("budget", small, "--amount", 5000, "--out", out)
    assert result.exit_code == 0, result.output
    assert result.stdout == ""
    book = openpyxl.load_workbook(out)
    assert "work" in book.sheetnames
    assert book["work"].max_row > 2


def test_nothing_is_overwritten_without_force(run, small, tmp_path):
    out = tmp_path / "plan.xlsx"
    out.write_text("mine")
    assert run("budget", small, "--amount", 5000, "--out", out).exit_code == 2
    assert out.read_text() == "mine"
    assert run("budget", small, "--amount", 5000, "--out", out, "--force").exit_code == 0
    assert out.read_bytes().startswith(b"PK")


def test_one_file_cannot_be_both(run, small, tmp_path):
    out = tmp_path / "plan.png"
    result = run("budget", small, "--amount", 5000, "--out", out, "--figure", out)
    assert result.exit_code == 2
    assert "different files" in result.stderr


def test_bad_tables_are_refused(once, bad):
    assert once("budget", bad, "--amount", 100).exit_code == 3
