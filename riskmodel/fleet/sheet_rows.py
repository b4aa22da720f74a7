"""Adds one row to the XML of a worksheet, dressed like the rows above it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from xml.sax.saxutils import escape

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.xml_places import (
    Element,
    find_elements,
    opening_tag,
    spliced,
    with_attribute,
    without_attribute,
)

_DAY_0 = date(1899, 12, 30)
_FIRST_DAY_NUMBER = 10_000
"""A number below this in a column of dates is a year, at or above it a day as spreadsheets count them."""


@dataclass(frozen=True)
class NewRow:
    """A row to be written: its number, the number of the last row with values, and its cells by column.

    ``numbers`` are the columns whose cells are numbers; ``days`` gives the day of a column's date where it
    is one; ``heads`` are names to be added to the head. Columns are numbered from 1.
    """

    number: int
    above: int
    texts: Mapping[int, str]
    numbers: frozenset[int]
    days: Mapping[int, date]
    heads: Mapping[int, str]


@dataclass(frozen=True)
class _Cell:
    content: bytes
    style: str
    kind: str
    value: str
    formula: bool


@dataclass(frozen=True)
class _Row:
    element: Element
    tag: bytes
    cells: Mapping[int, _Cell]


def sheet_with_row(content: bytes, row: NewRow, file: str) -> bytes:
    """The worksheet's XML with the row added and the head completed; every other byte as it was.

    A cell takes the style of the cell above it, else that of its column; a date is written as a day number
    where the one above it is one. A row that is there already, being empty, keeps its height and styles.

    Raises TableError where a formula stands in the place of a value.
    """
    elements = find_elements(content, {"sheetData", "row", "col", "dimension"})
    numbers = _numbered(elements)
    rows = {
        number: _row(content, numbers[number]) for number in {1, row.above, row.number} if number in numbers
    }
    (data,) = (element for element in elements if element.tag == "sheetData")
    _refuse_formulas(row, rows, file)
    styles = _column_styles(elements)
    changes = [_placed(content, data, numbers, row, _row_bytes(row, rows, styles, data.prefix))]
    if row.heads:
        heads = {
            column: _text_cell(data.prefix, f"{column_letters(column)}1", text, "")
            for column, text in row.heads.items()
        }
        changes.append(_rebuilt(rows[1], 1, heads, data.prefix))
    changes += [_stretched(content, element, row) for element in elements if element.tag == "dimension"]
    return spliced(content, changes)


def column_letters(number: int) -> str:
    """The letters of a column: 28 gives ``AB``."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def column_number(reference: str) -> int:
    """The column of a cell reference: ``AB7`` gives 28."""
    number = 0
    for letter in re.sub(r"[^A-Z]", "", reference):
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def _numbered(elements: list[Element]) -> dict[int, Element]:
    """The rows by number; where one is not numbered, it follows the one before."""
    numbers: dict[int, Element] = {}
    last = 0
    for element in elements:
        if element.tag == "row":
            last = int(element.attributes.get("r", last + 1))
            numbers[last] = element
    return numbers


def _row(content: bytes, element: Element) -> _Row:
    piece = content[element.start : element.end]
    parts = find_elements(piece, {"c", "v", "t", "f"})
    cells: dict[int, _Cell] = {}
    column = 0
    for cell in (part for part in parts if part.tag == "c"):
        inner = [part for part in parts if part.tag != "c" and cell.start < part.start < cell.end]
        column = column_number(cell.attributes["r"]) if "r" in cell.attributes else column + 1
        cells[column] = _Cell(
            content=piece[cell.start : cell.end],
            style=cell.attributes.get("s", ""),
            kind=cell.attributes.get("t", "n"),
            value="".join(part.text for part in inner if part.tag != "f"),
            formula=any(part.tag == "f" for part in inner),
        )
    return _Row(element, opening_tag(content, element), cells)


def _refuse_formulas(row: NewRow, rows: Mapping[int, _Row], file: str) -> None:
    there = rows[row.number].cells if row.number in rows else {}
    problems = [
        Problem(
            file, row.number, column_letters(column), "must not hold a formula where a value belongs", text
        )
        for column, text in row.texts.items()
        if column in there and there[column].formula
    ]
    if problems:
        raise TableError(problems)


def _column_styles(elements: list[Element]) -> dict[range, str]:
    return {
        range(int(each.attributes["min"]), int(each.attributes["max"]) + 1): each.attributes["style"]
        for each in elements
        if each.tag == "col" and "style" in each.attributes
    }


def _row_bytes(
    row: NewRow, rows: Mapping[int, _Row], styles: Mapping[range, str], prefix: str
) -> dict[int, bytes]:
    """The cells of the new row by column."""
    above = rows[row.above].cells if row.above > 1 and row.above in rows else {}
    there = rows[row.number].cells if row.number in rows else {}
    cells = {}
    for column, text in row.texts.items():
        dressed = there.get(column) or above.get(column)
        style = dressed.style if dressed else next((styles[each] for each in styles if column in each), "")
        place = f"{column_letters(column)}{row.number}"
        if column in row.days and column in above and _is_day_number(above[column]):
            number = str((row.days[column] - _DAY_0).days)
            cells[column] = _number_cell(prefix, place, number, above[column].style)
        elif column in row.numbers:
            cells[column] = _number_cell(prefix, place, text, style)
        else:
            cells[column] = _text_cell(prefix, place, text, style)
    return cells


def _is_day_number(cell: _Cell) -> bool:
    try:
        return cell.kind == "n" and float(cell.value) >= _FIRST_DAY_NUMBER
    except ValueError:
        return False


def _number_cell(prefix: str, place: str, number: str, style: str) -> bytes:
    dress = f' s="{style}"' if style else ""
    return f'<{prefix}c r="{place}"{dress}><{prefix}v>{number}</{prefix}v></{prefix}c>'.encode()


def _text_cell(prefix: str, place: str, text: str, style: str) -> bytes:
    # The text stands in the cell itself: the workbook's list of shared texts stays as it is.
    dress = f' s="{style}"' if style else ""
    inner = f'<{prefix}t xml:space="preserve">{escape(text)}</{prefix}t>'
    opening = f'<{prefix}c r="{place}"{dress} t="inlineStr">'
    return f"{opening}<{prefix}is>{inner}</{prefix}is></{prefix}c>".encode()


def _placed(
    content: bytes, data: Element, numbers: Mapping[int, Element], row: NewRow, cells: dict[int, bytes]
) -> tuple[int, int, bytes]:
    """Where the row goes: over an empty one of its number, before the next, or at the end of the rows."""
    if row.number in numbers:
        return _rebuilt(_row(content, numbers[row.number]), row.number, cells, data.prefix)
    whole = b"".join(cells[column] for column in sorted(cells))
    tags = f'<{data.prefix}row r="{row.number}">'.encode(), f"</{data.prefix}row>".encode()
    new = tags[0] + whole + tags[1]
    later = [element.start for number, element in numbers.items() if number > row.number]
    if later:
        return min(later), min(later), new
    tag = opening_tag(content, data)
    if tag.endswith(b"/>"):
        closing = f"</{data.prefix}sheetData>".encode()
        return data.start, data.end, tag[:-2].rstrip() + b">" + new + closing
    end = content.rindex(b"</", data.start, data.end)
    return end, end, new


def _rebuilt(old: _Row, number: int, cells: Mapping[int, bytes], prefix: str) -> tuple[int, int, bytes]:
    """A row that is there with these cells in it, its other cells and its tag as they are."""
    kept = {column: _referenced(cell.content, column, number, prefix) for column, cell in old.cells.items()}
    merged = {**kept, **cells}
    # The hint of the columns in use would be wrong; it may be left out.
    tag = without_attribute(old.tag, "spans")
    tag = tag[:-2].rstrip() + b">" if tag.endswith(b"/>") else tag
    body = b"".join(merged[column] for column in sorted(merged))
    return old.element.start, old.element.end, tag + body + f"</{prefix}row>".encode()


def _referenced(cell: bytes, column: int, number: int, prefix: str) -> bytes:
    """A cell that says where it stands, since its neighbours no longer do."""
    opening = f"<{prefix}c".encode()
    if re.match(re.escape(opening) + rb"[^>]*\sr\s*=", cell):
        return cell
    return opening + f' r="{column_letters(column)}{number}"'.encode() + cell[len(opening) :]


def _stretched(content: bytes, dimension: Element, row: NewRow) -> tuple[int, int, bytes]:
    """The sheet's used range with the new row and columns in it."""
    last = f"{column_letters(max([*row.texts, *row.heads]))}{row.number}"
    corners = [*dimension.attributes.get("ref", "A1").split(":"), last]
    columns = [column_number(corner) for corner in corners]
    lines = [int(re.sub(r"\D", "", corner) or 1) for corner in corners]
    ref = f"{column_letters(min(columns))}{min(lines)}:{column_letters(max(columns))}{max(lines)}"
    tag = opening_tag(content, dimension)
    return dimension.start, dimension.start + len(tag), with_attribute(tag, "ref", ref)
