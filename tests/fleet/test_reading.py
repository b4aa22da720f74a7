"""Reading files as they stand: encodings, delimiters, heads, ragged rows, Parquet and its types."""

import datetime

import pandas as pd
import pyarrow as pa
import pyarrow.parquet
import pytest

from riskmodel.errors import TableError
from riskmodel.fleet import Settings, check_fleet, load_fleet
from riskmodel.fleet.reading import read_csv, read_parquet


@pytest.fixture
def csv(tmp_path):
    def read(content, **settings):
        path = tmp_path / "items.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return read_csv(path, Settings(**settings))

    return read


@pytest.fixture
def parquet(tmp_path):
    def read(columns):
        path = tmp_path / "items.parquet"
        pyarrow.parquet.write_table(pa.table(columns), path)
        return read_parquet(path)

    return read


def texts(table, column):
    return table.columns[column].values.tolist()


def test_every_cell_is_text_and_only_nothing_is_missing(csv):
    table = csv("a,b\nNA,1\nnull,\nNone,nan\n")
    assert texts(table, "a") == ["NA", "null", "None"]
    assert texts(table, "b") == ["1", "", "nan"]


def test_cells_lose_the_spaces_around_them(csv):
    assert texts(csv("a,b\n  x ,\t y\n"), "a") == ["x"]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_is_read(csv, end):
    table = csv(f"a,b{end}1,2{end}3,4{end}")
    assert texts(table, "b") == ["2", "4"]
    assert table.rows.tolist() == [2, 3]


def test_a_byte_order_mark_is_no_part_of_the_first_name(csv):
    assert list(csv("\ufeffa,b\n1,2\n").columns) == ["a", "b"]


def test_quoted_cells_hold_delimiters_quotes_and_line_ends(csv):
    table = csv('a,b\n"1,5","3/4"" hose"\n"two\nlines",x\n')
    assert texts(table, "a") == ["1,5", "two lines"]
    assert texts(table, "b") == ['3/4" hose', "x"]


def test_an_inch_mark_within_a_cell_is_kept(csv):
    assert texts(csv('a,b\n3/4" hose,1\nx,2\n'), "a") == ['3/4" hose', "x"]


def test_blank_lines_are_passed_over_and_counted(csv):
    table = csv("a,b\n1,2\n\n,\n3,4\n\n\n")
    assert texts(table, "a") == ["1", "3"]
    assert table.rows.tolist() == [2, 5]


def test_a_table_of_a_head_only_has_no_rows(csv):
    table = csv("a,b\n")
    assert texts(table, "a") == []
    assert table.rows.tolist() == []


@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_a_declared_delimiter_is_read(csv, delimiter):
    assert texts(csv(f"a{delimiter}b\n1{delimiter}2\n", delimiter=delimiter), "b") == ["2"]


@pytest.mark.parametrize(("delimiter", "written"), [(";", ";"), ("\t", r"\\t"), ("|", r"\|")])
def test_an_undeclared_delimiter_names_the_line_to_write(csv, delimiter, written):
    with pytest.raises(
        TableError, match=f'items.csv row 1: .* write delimiter = "{written}" in settings.toml'
    ):
        csv(f"a{delimiter}b\n1{delimiter}2\n")


def test_a_comma_where_a_semicolon_is_declared_names_the_line_to_write(csv):
    with pytest.raises(TableError, match=r'write delimiter = "," in settings.toml'):
        csv("a,b\n1,2\n", delimiter=";")


@pytest.mark.parametrize("content", ["", "\n\n", "   \n", "\ufeff"])
def test_an_empty_file_is_refused(csv, content):
    with pytest.raises(
        TableError, match=r"items.csv row 1: must open with a head that names its columns, got nothing"
    ):
        csv(content)


def test_a_head_without_names_is_refused(csv):
    with pytest.raises(TableError, match=r"must open with a head that names its columns"):
        csv(",,\n1,2,3\n")


def test_a_name_twice_in_the_head_is_refused(csv):
    with pytest.raises(
        TableError, match=r"items.csv row 1: bore_mm must stand in the head once, got 2 times"
    ):
        csv("item_id,bore_mm,Bore mm\n1,2,3\n")


def test_every_ragged_row_is_named(csv):
    with pytest.raises(
        TableError, match=r"items.csv row 3: must have 2 cells like the head, got 1"
    ) as caught:
        csv("a,b\n1,2\n3\n\n4,5,6\n")
    assert [problem.row for problem in caught.value.problems] == [3, 5]
    assert caught.value.problems[1].value == "3"


def test_an_open_quotation_mark_is_refused(csv):
    with pytest.raises(TableError, match=r"must close every quotation mark"):
        csv('a,b\n1,"x\n2,3\n4,5\n')


def test_another_encoding_is_refused_with_its_row(csv):
    with pytest.raises(
        TableError, match=r"items.csv row 3: must be saved as UTF-8 text .*, got the byte 0xe9"
    ):
        csv("a,b\n1,2\ncafé,3\n".encode("latin-1"))


def test_a_spreadsheets_unicode_text_is_refused(csv):
    with pytest.raises(TableError, match=r"row 1: must be saved as UTF-8 text"):
        csv("a,b\n1,2\n".encode("utf-16"))


def test_parquet_cells_read_as_their_texts(parquet):
    table = parquet(
        {
            "ids": pa.array([1, 2, None]),
            "sizes": pa.array([12.0, 0.1, float("nan")]),
            "days": pa.array([datetime.date(2020, 1, 2), None, datetime.date(2021, 1, 1)]),
            "moments": pa.array(pd.to_datetime(["2020-01-02", "2020-01-03", None])),
            "words": pa.array(["x", " y ", None]).dictionary_encode(),
            "answers": pa.array([True, False, None]),
        }
    )
    assert texts(table, "ids") == ["1", "2", ""]
    assert texts(table, "sizes") == ["12", "0.1", ""]
    assert texts(table, "days") == ["2020-01-02", "", "2021-01-01"]
    assert texts(table, "moments")[0].startswith("2020-01-02")
    assert texts(table, "words") == ["x", "y", ""]
    assert texts(table, "answers") == ["yes", "no", ""]
    assert table.rows.tolist() == [2, 3, 4]


def test_parquet_of_nested_values_is_refused(parquet):
    with pytest.raises(TableError, match=r"items.parquet: sizes must hold plain values, got list"):
        parquet({"sizes": pa.array([[1, 2]])})


def test_a_file_that_is_no_parquet_is_refused(tmp_path):
    path = tmp_path / "items.parquet"
    path.write_text("a,b\n")
    with pytest.raises(TableError, match=r"items.parquet: must be a Parquet file"):
        read_parquet(path)


def test_typed_parquet_loads_as_a_fleet(tmp_path, today):
    pd.DataFrame(
        {
            "vessel_id": [7],
            "propulsion": ["outboard"],
            "value": [9000.5],
            "shore_power": [False],
            "built_year": [2010],
        }
    ).to_parquet(tmp_path / "vessels.parquet")
    items = pd.DataFrame({"item_id": ["I"], "vessel_id": [7], "item_class": pd.Categorical(["bilge_pump"])})
    items.assign(installed_on=pd.to_datetime(["2015-05-02"])).to_parquet(tmp_path / "items.parquet")
    fleet = load_fleet(tmp_path, today=today)
    assert fleet.vessels.loc[0, ["vessel_id", "value", "shore_power", "built_year"]].tolist() == [
        "7",
        9000.5,
        False,
        2010,
    ]
    assert fleet.items["installed_by"][0] == pd.Timestamp("2015-05-02")


def test_infinity_in_parquet_is_a_problem(tmp_path, today):
    pd.DataFrame({"vessel_id": ["A"], "propulsion": ["outboard"], "value": [float("inf")]}).to_parquet(
        tmp_path / "vessels.parquet"
    )
    assert [str(problem) for problem in check_fleet(tmp_path, today=today)] == [
        "vessels.parquet row 2: value must be a number, got inf"
    ]
