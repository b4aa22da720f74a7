"""Measures the sheets of a workbook before they are read: a reader lays out every cell up to the farthest one."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from xml.parsers import expat

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.book_parts import read_parts, sheet_part
from riskmodel.fleet.sheet_rows import column_letters, column_number

MOST_CELLS = 1 << 24
"""Cells from a sheet's first to its farthest row and column: sixteen columns of all rows a sheet has (judgement)."""
MOST_COLUMNS = 1000
"""More columns than any table of ours has, with a keeper's own beside them (judgement)."""

# Of one part, unpacked: a full sheet of sixteen columns has half of it (judgement).
_MOST_BYTES = 1 << 30
_PLACE = re.compile(rb"\br\s*=\s*[\"']([A-Za-z]*)([0-9]+)[\"']")
_CELL = re.compile(rb"<(?:[\w.-]+:)?c[\s/>]")


def far_cells(path: Path) -> dict[str, str]:
    """Sheets that reach too far out to be read, by the name of their part, with the cell that lies too far.

    Every part is unpacked and every sheet's XML read to its end, so that damage is found. What a sheet says of its own
    size is not believed, and cells without a value do not count, however far out they are.

    Raises BadZipFile, ExpatError and others of their libraries for a damaged workbook; TableError for a part too large.
    """
    with zipfile.ZipFile(path) as book:
        large = next((info for info in book.infolist() if info.file_size > _MOST_BYTES), None)
        if large is not None:
            rule = f"must hold at most {_MOST_BYTES >> 20:,} MB in one part"
            got = f"{large.file_size >> 20:,} MB in {large.filename}"
            raise TableError([Problem(path.name, 0, "", rule, got)])
        found = {info.filename: _far_cell(book.read(info)) for info in book.infolist()}
    return {part: cell for part, cell in found.items() if cell}


def refuse_far_cell(path: Path, sheet: str, far: Mapping[str, str]) -> None:
    """Raises TableError if the sheet of this name is among those that reach too far out."""
    if not far:
        return
    part = sheet_part(read_parts(path.read_bytes()), sheet)
    if part in far:
        rule = (
            f"must not reach so far out (at most {MOST_COLUMNS:,} columns and {MOST_CELLS:,} cells in all): "
            "clear the stray cell, and save"
        )
        row = int(re.sub(r"\D", "", far[part]))
        raise TableError([Problem(f"{path.name} sheet {sheet}", row, "", rule, f"a value in {far[part]}")])


def _far_cell(content: bytes) -> str:
    """The cell of a part that lies too far out; "" where none does, and for what is no sheet."""
    # Wherever a sheet lies and whatever its part is called, it opens with its own name.
    if b"worksheet" not in content[:4096]:
        return ""
    expat.ParserCreate().Parse(content, True)
    places = _PLACE.findall(content)
    corner = _corner({letters for letters, _ in places}, {row for _, row in places})
    placed = sum(1 for letters, _ in places if letters)
    # Most sheets are told by this: every cell says where it stands, and none says far.
    return "" if _is_near(*corner) and placed == len(_CELL.findall(content)) else _farthest(content)


def _corner(letters: set[bytes], rows: set[bytes]) -> tuple[int, int]:
    last_column = max((column_number(each.decode().upper()) for each in letters), default=0)
    return last_column, max((int(each) for each in rows), default=0)


def _is_near(columns: int, rows: int) -> bool:
    return columns <= MOST_COLUMNS and columns * rows <= MOST_CELLS


def _farthest(content: bytes) -> str:
    """The same, cell by cell: where each stands that holds a value, be it said or to be counted."""
    place, pending, widest, lowest = (0, 0), False, (0, 0), (0, 0)

    def opened(name: str, attributes: dict[str, str]) -> None:
        nonlocal place, pending, widest, lowest
        tag, said = name.rpartition(":")[2], attributes.get("r", "")
        if tag == "row":
            place = 0, int(said or place[1] + 1)
        elif tag == "c":
            place = _stands(said) if said else (place[0] + 1, place[1])
            pending = True
        elif pending:
            # A cell with nothing in it but its style holds no value.
            pending = False
            widest, lowest = max(widest, place), max(lowest, place, key=lambda each: each[::-1])

    def closed(name: str) -> None:
        nonlocal pending
        pending = pending and name.rpartition(":")[2] != "c"

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = opened, closed
    parser.Parse(content, True)
    if _is_near(widest[0], lowest[1]):
        return ""
    column, row = widest if widest[0] > MOST_COLUMNS else lowest
    return f"{column_letters(column)}{row}"


def _stands(said: str) -> tuple[int, int]:
    return column_number(said.upper()), int(re.sub(r"\D", "", said))
