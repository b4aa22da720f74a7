"""Adds one row to the bytes of a CSV table, and leaves every other byte as its keeper wrote it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence

from riskmodel.fleet.nearest import folded
from riskmodel.fleet.settings import Settings

_BOM = b"\xef\xbb\xbf"


def csv_head(content: bytes, settings: Settings) -> list[str]:
    """The folded column names of a CSV table in their order; "" where a column has none."""
    return [folded(cell) for cell in next(csv.reader(_lines(_text(content)), delimiter=settings.delimiter))]


def csv_with_row(
    content: bytes, cells: Mapping[str, str], new_columns: Sequence[str], settings: Settings
) -> bytes:
    """The table with ``cells`` (text by folded column name) as its last row.

    ``new_columns`` are added at the end of the head, with empty cells in the rows there are; without any,
    the old bytes are the beginning of the new ones, but for a missing end of the last line.
    """
    newline = _newline(content)
    text = _text(content)
    if new_columns:
        text = _widened(text, new_columns, settings.delimiter)
    if text and not text.endswith(("\n", "\r")):
        text += newline
    head = [*csv_head(content, settings), *new_columns]
    line = csv_line([cells.get(name, "") for name in head], settings, _quotes_all(content, settings))
    mark = _BOM if content.startswith(_BOM) else b""
    return mark + (text + line + newline).encode("utf-8")


def new_csv(columns: Sequence[str], cells: Mapping[str, str], settings: Settings) -> bytes:
    """A table of these columns with one row, in the dialect of the settings."""
    rows = (columns, [cells.get(name, "") for name in columns])
    return "".join(csv_line(row, settings) + "\n" for row in rows).encode("utf-8")


def csv_line(cells: Sequence[str], settings: Settings, quoting: int = csv.QUOTE_MINIMAL) -> str:
    """One row as text, without the end of the line."""
    line = io.StringIO(newline="")
    csv.writer(line, delimiter=settings.delimiter, lineterminator="\r\n", quoting=quoting).writerow(cells)  # type: ignore[arg-type]
    return line.getvalue().removesuffix("\r\n")


def _text(content: bytes) -> str:
    return content.decode("utf-8-sig")


def _lines(text: str) -> io.StringIO:
    """The text line by line, ends kept as they are; Python's own idea of a line knows marks that CSV does not."""
    return io.StringIO(text, newline="")


def _newline(content: bytes) -> str:
    """The end of line of the table's last line that has one, else of a new file."""
    place = max(content.rfind(b"\n"), content.rfind(b"\r"))
    if place < 0:
        return "\n"
    start = place - 1 if content[place - 1 : place + 1] == b"\r\n" else place
    return content[start : place + 1].decode()


def _quotes_all(content: bytes, settings: Settings) -> int:
    """A keeper whose head is quoted throughout has every cell quoted."""
    line = next(_lines(_text(content))).strip()
    cells = next(csv.reader([line], delimiter=settings.delimiter))
    whole = csv_line(cells, settings, csv.QUOTE_ALL) == line
    return csv.QUOTE_ALL if whole else csv.QUOTE_MINIMAL


def _widened(text: str, new_columns: Sequence[str], delimiter: str) -> str:
    lines = list(_lines(text))
    reader = csv.reader(lines, delimiter=delimiter)
    names, gaps = (delimiter + delimiter.join(new_columns), delimiter * len(new_columns))
    before, widened = 0, []
    for row in reader:
        # A row may hold line ends inside quotation marks: it is widened at the end of its last line.
        *inner, last = lines[before : reader.line_num]
        body = last.rstrip("\r\n")
        added = names if before == 0 else gaps
        widened += [*inner, body, added if row else "", last[len(body) :]]
        before = reader.line_num
    return "".join(widened)
