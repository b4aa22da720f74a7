"""riskmodel rank --levels: the table in words, as rows and as a figure beside it."""

import csv
import io
import json

import pytest

pytestmark = pytest.mark.thorough

STARTS = {"png": b"\x89PNG", "pdf": b"%PDF", "svg": b"<?xml"}


@pytest.fixture(scope="module")
def page(once, small):
    return once("rank", small, "--levels")


def test_the_table_takes_the_place_of_the_ranking(page):
    assert page.exit_code == 0, page.output
    assert "PARTS BY PROBABILITY LEVEL AND SEVERITY CATEGORY" in page.stdout
    assert "WHERE THE NEXT MONEY GOES" not in page.stdout
    assert "OUR TAILORING" in page.stdout


def test_without_the_option_the_ranking_stays_as_it_was(once, small):
    result = once("rank", small)
    assert "PROBABILITY LEVEL" not in result.stdout
    assert "BEFORE THE BOAT IS USED AGAIN" in result.stdout


def test_rows_hold_every_part_with_its_cell_money_and_danger(once, small):
    ranked = list(csv.DictReader(io.StringIO(once("rank", small, "--format", "csv").stdout)))
    rows = list(csv.DictReader(io.StringIO(once("rank", small, "--levels", "--format", "csv").stdout)))
    assert [row["item_id"] for row in rows] == [row["item_id"] for row in ranked]
    wanted = {
        "level",
        "category",
        "risk",
        "loss",
        "kill_probability",
        "counted",
        "as_of",
        "until",
        "currency",
    }
    assert wanted <= set(rows[0])


def test_rows_may_be_json(once, small):
    rows = json.loads(once("rank", small, "--levels", "--format", "json").stdout)
    assert {row["category"] for row in rows} <= {1, 2, 3, 4}


@pytest.mark.parametrize("kind", STARTS)
def test_a_figure_is_drawn_beside_the_page(run, small, page, tmp_path, kind):
    figure = tmp_path / f"levels.{kind}"
    result = run("rank", small, "--levels", "--figure", figure)
    assert result.exit_code == 0, result.output
    assert figure.read_bytes().startswith(STARTS[kind])
    assert result.stdout == page.stdout
    assert [path.name for path in tmp_path.iterdir()] == [figure.name]


def test_somebodys_own_file_is_not_overwritten_without_force(run, small, tmp_path):
    figure = tmp_path / "levels.png"
    figure.write_bytes(b"mine")
    result = run("rank", small, "--levels", "--figure", figure)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert figure.read_bytes() == b"mine"
    assert run("rank", small, "--levels", "--figure", figure, "--force").exit_code == 0
    assert figure.read_bytes().startswith(STARTS["png"])


def test_a_figure_of_the_ranking_is_refused(run, small, tmp_path):
    result = run("rank", small, "--figure", tmp_path / "levels.png")
    assert result.exit_code == 2
    assert "--figure needs --levels" in result.stderr


def test_another_kind_of_figure_is_refused_before_any_work(run, small, tmp_path):
    result = run("rank", small, "--levels", "--figure", tmp_path / "levels.jpg")
    assert result.exit_code == 2
    assert "a figure's name must end in" in result.stderr


def test_page_and_figure_need_files_of_their_own(run, small, tmp_path):
    one = tmp_path / "levels.png"
    result = run("rank", small, "--levels", "--figure", one, "--out", one)
    assert result.exit_code == 2
    assert "must name different files" in " ".join(result.stderr.split())
