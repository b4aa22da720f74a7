"""Reading the tables that ship with the package, with an organisation's own rows laid over."""

from importlib.resources import files

import pytest

from riskmodel.errors import ParameterError, Problem, RiskModelError, TableError
from riskmodel.tables import read_table

HEAD = files("riskmodel.data.trade").joinpath("limits.csv").read_text("utf-8").splitlines()[0]
OWN = "kill_path_probability,0.002,probability a season,ours,our board,judgement"


@pytest.fixture
def lay_over(tmp_path):
    """The limits table with the given lines as an overlay's file of the same name."""

    def read(*lines, encoding="utf-8"):
        (tmp_path / "limits.csv").write_text("\n".join(lines) + "\n", encoding=encoding)
        return read_table("limits", key=("limit",), overlay=tmp_path)

    return read


def test_rows_are_text_and_say_where_they_stand():
    row = read_table("limits", key=("limit",))[0]
    assert row["value"] == "0.0003"
    assert (row["_file"], row["_row"]) == ("trade/limits.csv", "2")


def test_an_overlay_row_takes_the_place_of_the_row_of_its_key(lay_over, tmp_path):
    rows = lay_over(HEAD, OWN)
    assert [row["value"] for row in rows if row["limit"] == "kill_path_probability"] == ["0.002"]
    assert rows[-1]["_file"] == str(tmp_path / "limits.csv")


def test_a_new_key_is_added_at_the_end(lay_over):
    shipped = [row["limit"] for row in read_table("limits", key=("limit",))]
    rows = lay_over(HEAD, OWN.replace("kill_path_probability", "another"))
    assert shipped[0] == "kill_path_probability"
    assert [row["limit"] for row in rows] == [*shipped, "another"]


def test_an_overlay_without_the_table_changes_nothing(tmp_path):
    assert read_table("limits", key=("limit",), overlay=tmp_path) == read_table("limits", key=("limit",))


def test_a_spreadsheets_byte_order_mark_is_read_over(lay_over):
    assert lay_over(HEAD, OWN, encoding="utf-8-sig")[-1]["limit"] == "kill_path_probability"


def test_an_overlay_with_other_columns_is_refused(lay_over):
    with pytest.raises(
        TableError, match=r"limits\.csv row 1: must have the columns limit, value.*got limit$"
    ):
        lay_over("limit", "kill_path_probability")


@pytest.mark.parametrize("line", [OWN + ",more", OWN.rpartition(",")[0]], ids=["more", "fewer"])
def test_a_row_with_more_or_fewer_cells_than_the_head_is_refused(lay_over, line):
    with pytest.raises(TableError, match="row 2: must have as many cells as the head"):
        lay_over(HEAD, line)


def test_a_problem_reads_as_file_row_column_rule_and_value():
    problem = Problem("items.csv", 14, "installed_on", "must not be after 2026-06-01", "2031-01-01")
    assert str(problem) == "items.csv row 14: installed_on must not be after 2026-06-01, got 2031-01-01"


def test_a_problem_of_a_whole_table_names_no_row():
    assert (
        str(Problem("items.csv", 0, "", "must hold a head", "nothing"))
        == "items.csv: must hold a head, got nothing"
    )


def test_a_table_error_keeps_every_problem_and_says_each_on_a_line():
    problems = [Problem("items.csv", row, "quantity", "must be 0 or more", "-1") for row in (2, 3)]
    error = TableError(problems)
    assert error.problems == tuple(problems)
    assert len(str(error).splitlines()) == 2


def test_every_refusal_is_one_kind_of_error():
    assert issubclass(TableError, RiskModelError)
    assert issubclass(ParameterError, RiskModelError)
