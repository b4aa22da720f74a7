"""riskmodel exposure: pages, rows, figures, terms and conditions on the command line, and their refusals."""

import csv
import io
import json

import pytest

pytestmark = pytest.mark.thorough


@pytest.fixture(scope="module")
def page(once, small):
    return once("exposure", small)


def test_a_page_is_printed(page):
    assert page.exit_code == 0, page.output
    assert "WET-SYSTEM LOSSES ONLY" in page.stdout
    assert "up to 2027-06-01" in " ".join(page.stdout.split())


def test_without_a_fleet_the_demo_is_used_and_said(once):
    result = once("exposure")
    assert result.exit_code == 0, result.output
    assert "embedded demo fleet" in result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_year_is_meant_unless_another_time_is_asked_for(once, small):
    result = once("exposure", small, "--months", 3)
    assert "up to 2026-09-01" in " ".join(result.stdout.split())
    assert "such stretches of 92 days" in result.stdout
    assert once("exposure", small, "--until", "2026-09-01").exit_code == 0


def test_rows_are_tidy(once, small):
    result = once("exposure", small, "--format", "csv", "--by", "water", "--by", "age")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert {"segment water", "segment age"} <= {row["table"] for row in rows}
    assert rows[0]["as_of"] == "2026-06-01"
    assert rows[0]["currency"] == "USD"
    assert "segment propulsion" not in {row["table"] for row in rows}


def test_rows_may_be_json(once, small):
    rows = json.loads(once("exposure", small, "--format", "json").stdout)
    assert {"table", "row", "figure", "value"} <= set(rows[0])


def mean_of(result):
    rows = csv.DictReader(io.StringIO(result.stdout))
    return {
        row["figure"]: float(row["value"])
        for row in rows
        if row["table"] == "year" and row["row"] == "mean loss"
    }


def test_a_deductible_may_be_an_amount_or_a_percentage(once, small):
    plain, amount, share = (
        mean_of(once("exposure", small, "--format", "csv", *words))
        for words in ((), ("--deductible", "400"), ("--deductible", "1%"))
    )
    assert amount["before"] == pytest.approx(plain["before"])
    assert amount["after"] < plain["after"]
    assert share["after"] < amount["after"]


def test_what_is_not_covered_and_salvage_outside_change_the_mean(once, small):
    inside = mean_of(once("exposure", small, "--format", "csv", "--deductible", "1%"))
    outside = mean_of(once("exposure", small, "--format", "csv", "--deductible", "1%", "--salvage-outside"))
    without = mean_of(once("exposure", small, "--format", "csv", "--without", "machinery_damage"))
    assert outside["after"] > inside["after"]
    assert without["after"] < without["before"]


def test_conditions_are_priced(once, small):
    result = once("exposure", small, "--condition", "visits=weekly", "--compliance", 0.5, "--visit-cost", 10)
    assert result.exit_code == 0, result.output
    assert "CONDITIONS, kept by 50 %" in result.stdout
    assert "not priced" not in result.stdout


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        (("--by", "colour"), "--by must name a column of vessels"),
        (("--condition", "paint=7"), "--condition must be renew=CLASS>YEARS"),
        (("--condition", "renew=teak>5"), "must name a class of parts"),
        (("--without", "piracy"), "what is not covered must be among"),
        (("--deductible", "much"), "--deductible must be an amount"),
        (("--deductible", "120%"), "--deductible must be an amount"),
        (("--compliance", "1.5"), "--compliance"),
        (("--months", "3", "--until", "2026-09-01"), "--until or --months"),
    ],
)
def test_words_that_cannot_be_are_usage_errors(run, small, words, rule):
    result = run("exposure", small, *words)
    assert result.exit_code == 2
    assert rule in " ".join(result.stderr.replace("│", " ").split())


def test_bad_tables_are_bad_data(run, bad):
    assert run("exposure", bad).exit_code == 3


def test_strict_ends_in_four_when_something_was_assumed(run, written):
    folder = written(settings="as_of = 2026-06-01\n")
    assert run("exposure", folder, "--strict").exit_code == 4


def test_a_schedule_without_items_is_priced(run, written):
    folder = written(settings="as_of = 2026-06-01\n", boats=({"vessel_id": "B1"}, {"vessel_id": "B2"}))
    result = run("exposure", folder, "--format", "csv")
    assert result.exit_code == 0, result.output
    assert mean_of(result)["after"] > 200


@pytest.mark.parametrize(("kind", "start"), [("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<?xml")])
def test_a_figure_is_drawn_beside_the_page(run, small, page, tmp_path, kind, start):
    figure = tmp_path / f"year.{kind}"
    result = run("exposure", small, "--figure", figure)
    assert result.exit_code == 0, result.output
    assert figure.read_bytes().startswith(start)
    assert result.stdout == page.stdout
    assert [path.name for path in tmp_path.iterdir()] == [figure.name]


def test_nothing_is_overwritten_without_force(run, small, tmp_path):
    out = tmp_path / "year.csv"
    out.write_text("mine")
    assert run("exposure", small, "--out", out).exit_code == 2
    assert out.read_text() == "mine"
    assert run("exposure", small, "--out", out, "--format", "csv", "--force").exit_code == 0
    assert out.read_text().startswith("table,row,figure,value")


def test_figures_of_another_kind_or_name_are_refused_before_any_work(run, small, tmp_path):
    assert run("exposure", small, "--figure", tmp_path / "year.doc").exit_code == 2
    same = tmp_path / "year.png"
    assert run("exposure", small, "--figure", same, "--out", same).exit_code == 2
    assert list(tmp_path.iterdir()) == []
