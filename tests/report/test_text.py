"""Plain text tables: they fit, numbers stand to the right, no word is lost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.report.text import (
    LEAST,
    NARROWEST,
    WIDTH,
    Column,
    ascii_only,
    fitted,
    page_width,
    pages_of_width,
    paragraph,
    text_table,
)

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


WIDE = [
    Column("Rank (90 %)", number=True),
    Column("Boat: part"),
    Column("Lets go,\nin 1,000 (90 %)", number=True),
]
WIDE += [Column("Cost\nUSD", number=True), Column("Do")]


@given(
    st.lists(
        st.tuples(st.just("18 (18-20)"), WORDS, st.just("1,442 (266-693)"), st.just("1,256"), WORDS),
        min_size=1,
        max_size=4,
    ),
    st.integers(NARROWEST, WIDTH),
)
def test_a_table_fits_any_width_and_breaks_no_number(rows, width):
    table = text_table(WIDE, rows, width=width)
    assert max(len(line) for line in table.splitlines()) <= width
    words = table.split()
    assert words.count("(266-693)") == words.count("1,256") == len(rows)
    assert sum(len(cell.split()) for row in rows for cell in row) <= len(words)


def test_a_table_too_wide_for_its_page_gives_each_cell_a_line():
    table = text_table(
        WIDE, [("18", "Teal: hose", "442", "256", ""), ("19", "Tern: gland", "1", "2", "look")], width=40
    )
    assert table.splitlines() == [
        *("Rank (90 %): 18", "Boat: part: Teal: hose", "Lets go, in 1,000 (90 %): 442", "Cost USD: 256"),
        "-" * 40,
        *("Rank (90 %): 19", "Boat: part: Tern: gland", "Lets go, in 1,000 (90 %): 1", "Cost USD: 2"),
        "Do: look",
    ]
    assert text_table(WIDE, [], width=40) == "None."


def test_a_word_is_broken_only_where_the_table_would_not_fit_otherwise():
    columns = [Column("Boat"), Column("What to do")]
    rows = [("Oystercatchers: hose clamps", "look " * 30)]
    assert "Oystercatchers:" in text_table(columns, rows, width=40).split()


def test_a_head_wraps_in_a_narrow_column():
    columns = [Column("Boat: part, and what to do"), Column("Why", width=30)]
    lines = text_table(columns, [("look", "because " * 9)], width=45).splitlines()
    assert max(len(line) for line in lines) <= 45
    assert "Boat: part, and what to do" not in lines


def test_pages_are_as_wide_as_asked_within_limits_and_then_as_before():
    text = "word " * 60
    for asked, width in ((60, 60), (1, NARROWEST), (500, WIDTH)):
        with pages_of_width(asked):
            assert page_width() == width
            assert paragraph(text) == paragraph(text, width=width)
    assert page_width() == WIDTH


def test_only_a_narrow_page_has_its_long_lines_wrapped():
    page = f"{'head ' * 12}\n\n  {'more ' * 12}\nshort\n"
    assert fitted(page) == page
    with pages_of_width(40):
        lines = fitted(page).split("\n")
    assert max(len(line) for line in lines) <= 40
    assert " ".join(lines).split() == page.split()
    assert lines[-2:] == ["short", ""]


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
