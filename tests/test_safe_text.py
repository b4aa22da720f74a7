"""What comes from tables can neither steer a screen nor be worked out by a spreadsheet."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.safe_text import inert, visible, visible_page

# Unicode's bidirectional controls, UAX 9 section 2.
BIDIRECTIONAL = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Wren", "Wren"),
        ("Möwe 鷗", "Möwe 鷗"),
        ("\x1b[2KWren", "<U+001B>[2KWren"),
        ("Wren\u202egnihton", "Wren<U+202E>gnihton"),
        ("two\r\nlines\tand", "two lines and"),
        ("\x9b31m", "<U+009B>31m"),
        ("a\u2028b", "a b"),
    ],
)
def test_a_cell_is_shown_on_one_line_with_its_marks(text, shown):
    assert visible(text) == shown


@given(st.text(st.characters(codec="utf-8")))
def test_nothing_that_steers_a_screen_is_left(text):
    for shown in (visible(text), visible_page(text)):
        left = [each for each in shown if unicodedata.category(each) == "Cc" or each in BIDIRECTIONAL]
        assert left in ([], ["\n"] * shown.count("\n"))
    assert "\n" not in visible(text)
    assert visible(visible(text)) == visible(text)


def test_a_page_keeps_its_lines():
    assert visible_page("one\ntwo\x07\n") == "one\ntwo<U+0007>\n"


@pytest.mark.parametrize("text", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "＝1"])
def test_a_formula_becomes_text(text):
    assert inert(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "Wren", "-5", "+3.2", "-1e-3", "2026-01-01", "a=b"])
def test_other_text_and_numbers_stay(text):
    assert inert(text) == text
