"""The file of broken rows: whole, as a table, or not at all."""

import csv

import pytest

from riskmodel.errors import Problem, TableError
from riskmodel.fleet import check_fleet, write_problems

PROBLEMS = [
    Problem("items.csv", 3, "quantity", "must not be below 0", "-2"),
    Problem("vessels.csv", 0, "", 'must hold "one" boat, at least', "none"),
]


def test_every_problem_is_a_row(tmp_path):
    path = tmp_path / "bad.csv"
    assert write_problems(path, iter(PROBLEMS)) == 2
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    assert rows[0] == ["file", "row", "column", "rule", "value"]
    assert [Problem(row[0], int(row[1]), *row[2:]) for row in rows[1:]] == PROBLEMS


def test_no_problem_leaves_the_head_alone(tmp_path):
    assert write_problems(tmp_path / "bad.csv", []) == 0
    assert (tmp_path / "bad.csv").read_text() == "file,row,column,rule,value\n"


def test_a_writer_that_stops_half_way_leaves_the_old_file(tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text("old")

    def until_it_breaks():
        yield PROBLEMS[0]
        raise TableError(PROBLEMS)

    with pytest.raises(TableError, match="quantity must not be below 0"):
        write_problems(path, until_it_breaks())
    assert path.read_text() == "old"
    assert [each.name for each in tmp_path.iterdir()] == ["bad.csv"]


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(OSError, match="nowhere"):
        write_problems(tmp_path / "nowhere" / "bad.csv", PROBLEMS)


def test_more_problems_than_a_screen_holds_are_all_there(write, today, tmp_path):
    boats = "".join(f"B{n},sterndrive,{'ask' if n % 2 else 1000}\n" for n in range(600))
    problems = check_fleet(write(vessels=f"vessel_id,propulsion,value\n{boats}"), today=today)
    assert write_problems(tmp_path / "bad.csv", problems) == 300
