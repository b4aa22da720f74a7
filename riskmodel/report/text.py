"""Plain text that fits a terminal: tables with numbers to the right and words wrapped, paragraphs, no colour."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

# Pages are this wide [characters], narrower where the reader's terminal is, and never under NARROWEST.
WIDTH = 80
NARROWEST = 40
GAP = 2
LEAST = 12
# Words of up to so many characters are broken only where a table would not fit otherwise.
WHOLE = 20
# A word that is a number, alone or as an interval: it stays on one line.
NUMBER = re.compile(r"[<~(]*\d[\d.,:/()%-]*")

_wide: ContextVar[int] = ContextVar("wide", default=WIDTH)


@contextmanager
def pages_of_width(width: int) -> Iterator[None]:
    """Pages made in the block are ``width`` characters wide, within NARROWEST and WIDTH."""
    before = _wide.set(min(max(width, NARROWEST), WIDTH))
    try:
        yield
    finally:
        _wide.reset(before)


def page_width() -> int:
    """How many characters wide pages are now."""
    return _wide.get()


@dataclass(frozen=True)
class Column:
    """A column of a text table: its head (lines), whether it holds numbers, its least width."""

    head: str
    number: bool = False
    width: int = 0


def text_table(columns: Sequence[Column], rows: Sequence[Sequence[str]], *, width: int | None = None) -> str:
    """A table of at most ``width`` characters (the page's when left out); words share and wrap what the numbers leave.

    Where even that is too wide, each cell stands on a line of its own behind its head.
    """
    room = width or page_width()
    widths = _widths(columns, rows, room)
    if sum(widths) + GAP * (len(widths) - 1) > room:
        return _stacked(columns, rows, room)
    heads = [_head_lines(column.head, size) for column, size in zip(columns, widths, strict=True)]
    tallest = max(len(head) for head in heads)
    lines = [
        _line(
            columns,
            [head[i - tallest + len(head)] if i >= tallest - len(head) else "" for head in heads],
            widths,
        )
        for i in range(tallest)
    ]
    lines.append("-" * (sum(widths) + GAP * (len(widths) - 1)))
    for row in rows:
        cells = [textwrap.wrap(cell, max(size, 1)) or [""] for cell, size in zip(row, widths, strict=True)]
        deepest = max(len(cell) for cell in cells)
        lines += [_line(columns, [c[i] if i < len(c) else "" for c in cells], widths) for i in range(deepest)]
    return "\n".join(line.rstrip() for line in lines)


def paragraph(text: str, *, width: int | None = None, indent: str = "") -> str:
    """Text wrapped to ``width`` (the page's when left out), later lines indented."""
    return textwrap.fill(text, width or page_width(), subsequent_indent=indent)


def fitted(page: str) -> str:
    """A page on a terminal narrower than WIDTH: lines that nobody wrapped (heads, counts of more) wrapped too."""
    width = page_width()
    if width == WIDTH:
        return page
    return "\n".join(_wrapped(line, width) if len(line) > width else line for line in page.split("\n"))


def ascii_only(text: str) -> str:
    """The same text for a terminal that has only ASCII."""
    plain = {
        "–": "-",
        "—": "-",
        "×": "x",
        "≥": ">=",
        "≤": "<=",
        "η": "eta",
        "β": "beta",
        "’": "'",
        "…": "...",
        "·": "-",
    }
    for fancy, simple in plain.items():
        text = text.replace(fancy, simple)
    return text.encode("ascii", "replace").decode("ascii")


def _head_lines(head: str, size: int) -> list[str]:
    return [part for line in head.split("\n") for part in textwrap.wrap(line, max(size, 1)) or [""]]


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Natural widths, the widest columns of words narrowed in turn until the table fits."""
    natural = [
        max(
            [len(part) for part in column.head.split("\n")]
            + [len(row[place]) for row in rows]
            + [column.width]
        )
        for place, column in enumerate(columns)
    ]
    room = width - GAP * (len(columns) - 1)
    for whole in (WHOLE, LEAST):
        if sum(natural) > room:
            natural = _narrowed(
                natural, [_least(*each, whole) for each in _cells_of(columns, natural, rows)], room
            )
    return natural


def _cells_of(
    columns: Sequence[Column], natural: Sequence[int], rows: Sequence[Sequence[str]]
) -> Iterator[tuple[Column, int, list[str]]]:
    for place, column in enumerate(columns):
        yield column, natural[place], [row[place] for row in rows]


def _least(column: Column, natural: int, cells: Sequence[str], whole: int) -> int:
    """How narrow a column may become: words of up to ``whole`` characters stay on a line, numbers always."""
    if column.number:
        return natural
    words = {word for cell in cells for word in cell.split()}
    kept = [len(word) for word in words if len(word) <= whole or NUMBER.fullmatch(word)]
    return max([LEAST, *kept])


def _narrowed(natural: Sequence[int], least: Sequence[int], room: int) -> list[int]:
    """The widest columns narrowed in turn until they fit, or are as narrow as they may be."""
    sizes = list(natural)
    while sum(sizes) > room:
        wide = [i for i, size in enumerate(sizes) if size > least[i]]
        if not wide:
            break
        sizes[max(wide, key=lambda i: sizes[i])] -= 1
    return sizes


def _stacked(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> str:
    """Each row as lines of ``Head: value``, empty cells left out, with a line between rows."""
    heads = [" ".join(column.head.split("\n")) for column in columns]
    blocks = [
        [f"{head}: {cell}" for head, cell in zip(heads, row, strict=True) if cell.strip()] for row in rows
    ]
    rule = "-" * width
    texts = ["\n".join(paragraph(line, width=width, indent="    ") for line in block) for block in blocks]
    return f"\n{rule}\n".join(texts) or "None."


def _wrapped(line: str, width: int) -> str:
    indent = line[: len(line) - len(line.lstrip())]
    return textwrap.fill(line, width, subsequent_indent=f"{indent}  ")


def _line(columns: Sequence[Column], cells: Sequence[str], widths: Sequence[int]) -> str:
    parts = [
        cell.rjust(size) if column.number else cell.ljust(size)
        for column, cell, size in zip(columns, cells, widths, strict=True)
    ]
    return (" " * GAP).join(parts)
