"""Adds one record to the records sheet of a workbook, and leaves the rest of the workbook as it is."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.book_parts import (
    Parts,
    main_part,
    read_parts,
    recalculated,
    relations,
    sheet_part,
    with_parts,
    with_sheet,
)
from riskmodel.fleet.cells import text_of
from riskmodel.fleet.nearest import folded
from riskmodel.fleet.sheet_rows import NewRow, column_letters, column_number, sheet_with_row
from riskmodel.fleet.xml_places import find_elements, opening_tag, spliced, with_attribute


@dataclass(frozen=True)
class SheetPlace:
    """Where a record goes: the sheet, its last row with values, and how messages name it."""

    sheet: str
    last_row: int
    file: str


@dataclass(frozen=True)
class SheetRecord:
    """What goes there: texts by folded column name, which of them are numbers, and the day of the date."""

    cells: Mapping[str, str]
    numbers: frozenset[str]
    day: date | None


def book_head(content: bytes, sheet: str) -> list[str]:
    """The folded column names of a sheet in their order; "" where a column has none."""
    # Imported here because only a workbook needs it.
    from python_calamine import CalamineWorkbook

    rows = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_name(sheet)
    names = [folded(text_of(cell)) for cell in rows.to_python(skip_empty_area=False, nrows=1)[0]]
    return names[: max(place for place, name in enumerate(names, start=1) if name)]


def book_with_row(content: bytes, place: SheetPlace, record: SheetRecord, head: Sequence[str]) -> bytes:
    """The workbook with the record in the row below the last; ``head`` may end in columns that are new to it.

    Only the sheet's XML is added to, and formulas are ordered to be worked out anew: charts, pictures, notes,
    lists of words and whatever else the workbook holds stay byte for byte. A table drawn round the rows
    grows by the new one; the range of a chart, a rule or a list does not.

    Raises TableError for a workbook that cannot be changed without breaking it.
    """
    parts = read_parts(content)
    name = sheet_part(parts, place.sheet)
    _refuse_untouchable(parts, name, place.file)
    old = book_head(content, place.sheet)
    columns = {column: number for number, column in enumerate(head, start=1) if column}
    row = NewRow(
        number=place.last_row + 1,
        above=place.last_row,
        texts={columns[column]: text for column, text in record.cells.items()},
        numbers=frozenset(columns[column] for column in record.numbers if column in columns),
        days={columns["date"]: record.day} if record.day and not _counts_from_1904(parts) else {},
        heads={number: column for column, number in columns.items() if number > len(old)},
    )
    changed = {name: sheet_with_row(parts[name], row, place.file), **recalculated(parts)}
    return with_parts(content, changed | _grown_tables(parts, name, place.last_row))


def book_with_sheet(content: bytes, sheet: str, columns: Sequence[str]) -> bytes:
    """The workbook with a new sheet at its end that holds this head and no row yet."""
    _refuse_untouchable(read_parts(content), "", sheet)
    whole = with_sheet(content, sheet)
    parts = read_parts(whole)
    name = sheet_part(parts, sheet)
    head = NewRow(1, 0, dict(enumerate(columns, start=1)), frozenset(), {}, {})
    return with_parts(whole, {name: sheet_with_row(parts[name], head, sheet)})


def _refuse_untouchable(parts: Parts, sheet: str, file: str) -> None:
    if any(name.startswith("_xmlsignatures/") for name in parts):
        rule = "must not be signed, since a record would break the signature: add it by hand and sign anew"
        raise TableError([Problem(file, 0, "", rule, "a signed workbook")])
    for name in {main_part(parts), sheet} - {""}:
        declared = re.match(
            rb"<\?xml[^>]*encoding\s*=\s*[\"']([^\"']+)", parts[name].removeprefix(b"\xef\xbb\xbf")
        )
        coding = declared.group(1).decode().lower() if declared else "utf-8"
        if coding != "utf-8" or parts[name][:2] in (b"\xff\xfe", b"\xfe\xff"):
            raise TableError([Problem(file, 0, "", "must hold its sheets as UTF-8: save it anew", coding)])


def _counts_from_1904(parts: Parts) -> bool:
    """Whether day numbers start in 1904; then dates are written as text, which cannot be taken for another day."""
    properties = find_elements(parts[main_part(parts)], {"workbookPr"})
    return any(each.attributes.get("date1904", "0") in ("1", "true") for each in properties)


def _grown_tables(parts: Parts, sheet: str, last_row: int) -> dict[str, bytes]:
    """The tables drawn round the sheet's rows down to the last one, one row longer."""
    changed = {}
    for kind, part in relations(parts, sheet).values():
        if not kind.endswith("/table"):
            continue
        changes = []
        for element in find_elements(parts[part], {"table", "autoFilter"}):
            first, _, last = element.attributes.get("ref", "").partition(":")
            if last and int(re.sub(r"\D", "", last)) == last_row:
                ref = f"{first}:{column_letters(column_number(last))}{last_row + 1}"
                tag = opening_tag(parts[part], element)
                new = with_attribute(tag, "ref", ref)
                changes.append((element.start, element.start + len(tag), new))
        changed[part] = spliced(parts[part], changes)
    return changed
