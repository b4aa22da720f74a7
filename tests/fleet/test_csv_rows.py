"""One row more in the bytes of a CSV table."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.fleet.csv_rows import csv_head, csv_line, csv_with_row, new_csv
from riskmodel.fleet.settings import Settings

SEMICOLON = Settings(delimiter=";", decimal=",")
# No bare carriage return: some writers of CSV leave it unquoted, and no reader can mend that.
cell = st.text(st.sampled_from("abc ,;\"'\n"), max_size=6)


def read(content, delimiter):
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""), delimiter=delimiter))


@st.composite
def tables(draw):
    """A table as the csv module writes it, with its rows, in one of the dialects."""
    dialect = draw(
        st.sampled_from([Settings(), SEMICOLON, Settings(delimiter="\t"), Settings(delimiter="|")])
    )
    rows = draw(st.lists(st.lists(cell, min_size=3, max_size=3), max_size=5))
    text = io.StringIO(newline="")
    quoting = draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    writer = csv.writer(text, delimiter=dialect.delimiter, lineterminator=end, quoting=quoting)
    writer.writerows([["item_id", "Date", "mine"], *rows])
    mark = draw(st.sampled_from([b"", b"\xef\xbb\xbf"]))
    return dialect, rows, mark + text.getvalue().encode()


@given(table=tables(), note=cell)
def test_a_row_without_new_columns_leaves_every_old_byte(table, note):
    dialect, rows, content = table
    after = csv_with_row(content, {"item_id": "W1", "date": note}, (), dialect)
    assert after.startswith(content)
    assert read(after, dialect.delimiter)[1:] == [*rows, ["W1", note, ""]]


@given(table=tables(), note=cell)
def test_new_columns_leave_every_old_cell(table, note):
    dialect, rows, content = table
    after = csv_with_row(content, {"item_id": "W1", "note": note}, ("note", "hours"), dialect)
    assert read(after, dialect.delimiter) == [
        ["item_id", "Date", "mine", "note", "hours"],
        *([*row, "", ""] for row in rows),
        ["W1", "", "", note, ""],
    ]
    assert after.startswith(content[:3]) or not content.startswith(b"\xef\xbb\xbf")


@given(table=tables())
def test_the_end_of_lines_is_the_tables_own(table):
    dialect, _, content = table
    after = csv_with_row(content, {"item_id": "W1"}, (), dialect)
    assert after.endswith(b"\r\n") == content.endswith(b"\r\n")


def test_a_table_of_one_line_without_an_end_gets_a_plain_one():
    assert csv_with_row(b"item_id,date", {"date": "2020"}, (), Settings()) == b"item_id,date\n,2020\n"


def test_marks_that_end_a_line_elsewhere_do_not_end_it_here():
    content = "item_id,note\nW1,a\u2028b\x0cc\x85d\n".encode()
    after = csv_with_row(content, {"item_id": "W1", "hours": "3"}, ("hours",), Settings())
    assert after.decode() == "item_id,note,hours\nW1,a\u2028b\x0cc\x85d,\nW1,,3\n"


@pytest.mark.parametrize(
    ("content", "names"),
    [
        (b"Item ID, Date ,hours\n", ["item_id", "date", "hours"]),
        (b"\xef\xbb\xbfitem_id,,x,\r\n1,2,3,4\r\n", ["item_id", "", "x", ""]),
        (b'"a\nb",c\n', ["a_b", "c"]),
    ],
)
def test_the_head_is_folded_and_keeps_its_gaps(content, names):
    assert csv_head(content, Settings()) == names


def test_a_cell_is_quoted_only_where_it_must_be():
    assert csv_line(["a", "b,c", "d;e", 'f"g', ""], Settings()) == 'a,"b,c",d;e,"f""g",'
    assert csv_line(["a", "b,c", "d;e"], SEMICOLON) == 'a;b,c;"d;e"'


def test_a_new_table_is_a_head_and_a_row_in_the_dialect():
    assert new_csv(["a", "b"], {"b": "1,5"}, SEMICOLON) == b"a;b\n;1,5\n"
