"""Plain text tables: they fit, numbers stand to the right, no word is lost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.report.text import LEAST, WIDTH, Column, ascii_only, paragraph, text_table

COLUMNS = [Column("Boat"), Column("Cost\nUSD", number=True), Column("What to do")]
WORDS = st.lists(st.text("abcdefgh", min_size=1, max_size=11), min_size=1, max_size=20).map(" ".join)


def words_of(text):
    return sorted(text.split())


def test_numbers_stand_to_the_right_and_words_to_the_left():
    lines = text_table(COLUMNS, [("Tern", "1,200", "renew"), ("Skua", "5", "look")]).splitlines()
    assert lines[0].split() == ["Cost"]
    assert lines[1].split() == ["Boat", "USD", "What", "to", "do"]
    assert set(lines[2]) == {"-"}
    assert lines[3].index("1,200") + len("1,200") == lines[4].index("5") + 1
    assert lines[3].startswith("Tern")


@given(st.lists(st.tuples(WORDS, st.integers(0, 99999).map(str), WORDS), min_size=1, max_size=6))
def test_a_table_fits_whatever_is_in_it_and_loses_no_word(rows):
    table = text_table(COLUMNS, rows)
    lines = table.splitlines()
    assert max(len(line) for line in lines) <= WIDTH
    assert all(line == line.rstrip() for line in lines)
    wanted = [word for row in rows for cell in row for word in cell.split()]
    assert words_of("\n".join(lines[3:])) == sorted(wanted)


def test_a_table_of_no_rows_is_its_head():
    assert len(text_table(COLUMNS, []).splitlines()) == 3


def test_a_column_keeps_the_width_it_asked_for():
    assert text_table([Column("A", width=10), Column("B")], [("x", "y")]).splitlines()[2].index("y") == 12


def test_columns_of_words_are_never_narrower_than_a_word_or_two():
    table = text_table([Column("A"), Column("B")], [("long " * 40, "wide " * 40)])
    assert min(len(line) for line in table.splitlines() if line) > LEAST


@given(WORDS)
def test_a_paragraph_fits_and_keeps_its_words(text):
    wrapped = paragraph(text, width=40, indent="  ")
    assert max(len(line) for line in wrapped.splitlines()) <= 40
    assert wrapped.split() == text.split()


@pytest.mark.parametrize(
    ("text", "plain"),
    [("5–10 × 3", "5-10 x 3"), ("≤ 4 … η", "<= 4 ... eta"), ("Möwe", "M?we"), ("plain", "plain")],
)
def test_ascii_keeps_what_it_can_say(text, plain):
    assert ascii_only(text) == plain


@given(st.text(max_size=60))
def test_ascii_is_ascii(text):
    assert ascii_only(text).isascii()
