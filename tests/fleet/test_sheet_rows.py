"""One row more in the XML of a worksheet, and the places found for it."""

import datetime
import xml.etree.ElementTree as ElementTree
from xml.parsers.expat import ExpatError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import TableError
from riskmodel.fleet.sheet_rows import NewRow, column_letters, column_number, sheet_with_row
from riskmodel.fleet.xml_places import (
    find_elements,
    opening_tag,
    spliced,
    with_attribute,
    without_attribute,
)

HEAD = '<row r="1" spans="1:2"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c></row>'


def sheet(rows=HEAD, before="", after=""):
    return f"<worksheet>{before}<sheetData>{rows}</sheetData>{after}</worksheet>".encode()


def row(number=2, above=1, texts=None, numbers=(), days=None, heads=None):
    return NewRow(number, above, texts or {1: "W1"}, frozenset(numbers), days or {}, heads or {})


def added(content, new):
    """The XML of the new row."""
    after = sheet_with_row(content, new, "boats.xlsx sheet records").decode()
    start = after.index(f'<row r="{new.number}"')
    return after[start : after.index("</row>", start) + len("</row>")]


def test_a_text_stands_in_the_cell_itself():
    assert added(sheet(), row(texts={2: "a <b> & c "})) == (
        '<row r="2"><c r="B2" t="inlineStr"><is><t xml:space="preserve">a &lt;b&gt; &amp; c </t></is></c></row>'
    )


def test_a_number_stands_as_a_number_and_cells_in_order():
    assert added(sheet(), row(texts={28: "3", 2: "1.50"}, numbers={2, 28})) == (
        '<row r="2"><c r="B2"><v>1.50</v></c><c r="AB2"><v>3</v></c></row>'
    )


def test_a_cell_is_dressed_like_the_one_above_else_like_its_column():
    columns = '<cols><col min="1" max="1" style="4"/><col min="2" max="16384" style="5"/></cols>'
    rows = HEAD + '<row r="2"><c r="A2" s="7"/></row>'
    new = row(3, 2, {1: "1", 9: "2"}, {1, 9})
    assert added(sheet(rows, columns), new) == (
        '<row r="3"><c r="A3" s="7"><v>1</v></c><c r="I3" s="5"><v>2</v></c></row>'
    )


def test_the_head_dresses_nobody():
    rows = '<row r="1"><c r="A1" s="9"/></row>'
    assert added(sheet(rows), row(numbers={1}, texts={1: "1"})) == '<row r="2"><c r="A2"><v>1</v></c></row>'


@pytest.mark.parametrize(
    ("above", "cell"),
    [
        ('<c r="A2" s="3"><v>43221</v></c>', '<c r="A3" s="3"><v>46172</v></c>'),
        ('<c r="A2" s="3"><f>TODAY()</f><v>43221.5</v></c>', '<c r="A3" s="3"><v>46172</v></c>'),
        ('<c r="A2"><v>2018</v></c>', None),
        ('<c r="A2" t="s"><v>43221</v></c>', None),
        ('<c r="A2" s="3"/>', None),
    ],
)
def test_a_day_is_a_day_number_only_below_one(above, cell):
    # 46172: the day number that spreadsheet programs show for 30 May 2026.
    new = row(3, 2, {1: "2026-05-30"}, days={1: datetime.date(2026, 5, 30)})
    content = added(sheet(f'{HEAD}<row r="2">{above}</row>'), new)
    assert (f'<row r="3">{cell}</row>' == content) if cell else (">2026-05-30<" in content)


@pytest.mark.parametrize(
    "data", ["<sheetData/>", "<sheetData />", "<sheetData></sheetData>", '<sheetData a="1>2"/>']
)
def test_a_sheet_without_rows_takes_one(data):
    content = f"<worksheet><a/>{data}<b/></worksheet>".encode()
    after = sheet_with_row(content, row(1, 0), "records").decode()
    root = ElementTree.fromstring(after)
    assert [child.tag for child in root] == ["a", "sheetData", "b"]
    assert [each.get("r") for each in root.iter("row")] == ["1"]


def test_an_empty_row_of_one_tag_is_filled_and_keeps_what_it_says():
    rows = HEAD + '<row r="2" spans="1:9" ht="30" customHeight="1"/>'
    assert added(sheet(rows), row(numbers={1}, texts={1: "1"})) == (
        '<row r="2" ht="30" customHeight="1"><c r="A2"><v>1</v></c></row>'
    )


def test_cells_without_references_get_them_where_a_row_is_built_anew():
    rows = "<row><c><v>0</v></c></row><row><c s='2'/><c s='3'><v/></c></row>"
    new = row(2, 1, {1: "1"}, {1})
    after = sheet_with_row(sheet(rows), new, "records").decode()
    assert """<row><c r="A2" s="2"><v>1</v></c><c r="B2" s='3'><v/></c></row>""" in after


def test_a_new_head_goes_into_the_first_row():
    after = sheet_with_row(sheet(), row(heads={3: "note"}), "records").decode()
    assert (
        '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="inlineStr">' in after
    )


@pytest.mark.parametrize(
    ("ref", "new"), [("A1", "A1:C5"), ("A1:B4", "A1:C5"), ("A1:Z90", "A1:Z90"), ("B2:B3", "B2:C5")]
)
def test_the_used_range_holds_the_new_row(ref, new):
    content = sheet(before=f'<dimension ref="{ref}"/>')
    after = sheet_with_row(content, row(5, 4, {3: "x"}), "records").decode()
    assert f'<dimension ref="{new}"/>' in after


def test_a_formula_in_the_way_is_refused():
    rows = HEAD + '<row r="2"><c r="A2"><f>B1</f><v></v></c></row>'
    with pytest.raises(
        TableError, match=r"^records row 2: A must not hold a formula where a value belongs, got W1"
    ):
        sheet_with_row(sheet(rows), row(), "records")


@given(number=st.integers(1, 16384))
def test_columns_have_letters_and_back(number):
    assert column_number(column_letters(number) + "12") == number


def test_the_letters_of_columns_are_those_of_spreadsheets():
    assert [column_letters(number) for number in (1, 26, 27, 52, 702, 703, 16384)] == [
        *("A", "Z", "AA", "AZ", "ZZ", "AAA", "XFD")
    ]


names = st.sampled_from(["row", "x:row", "c", "v"])
trees = st.recursive(
    st.sampled_from(["", "text", "é", "<!-- <row> -->", "<![CDATA[</row>]]>", "&lt;"]),
    lambda inner: st.builds(
        lambda name, attribute, children: (
            f"<{name}{attribute}>{''.join(children)}</{name}>" if children else f"<{name}{attribute}/>"
        ),
        names,
        st.sampled_from(["", ' a="1"', " a='x>y'", ' a="/>" b="2"']),
        st.lists(inner, max_size=4),
    ),
    max_leaves=12,
)


@given(tree=trees)
def test_elements_are_found_at_their_bytes_as_another_parser_sees_them(tree):
    content = f"<root>{tree}</root>".encode()
    found = find_elements(content, {"row", "c", "v"})
    plain = ElementTree.fromstring(content.replace(b"x:row", b"row"))
    assert [each.tag for each in found] == [each.tag for each in plain.iter() if each.tag != "root"]
    for each in found:
        piece = content[each.start : each.end].replace(b"x:row", b"row")
        assert ElementTree.fromstring(piece).tag == each.tag
        tag = opening_tag(content, each)
        assert piece.startswith(tag.replace(b"x:row", b"row"))
        assert with_attribute(tag, "a", "new").count(b' a="new"') == 1
        assert b" a=" not in without_attribute(tag, "a")


def test_what_is_no_xml_is_refused():
    with pytest.raises(ExpatError, match=r"mismatched tag"):
        find_elements(b"<a><b></a>", {"b"})


def test_pieces_are_put_in_place_whatever_their_order():
    assert spliced(b"0123456789", [(8, 10, b"Z"), (0, 0, b"A"), (3, 5, b"")]) == b"A012567Z"
