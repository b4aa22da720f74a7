"""Plain text tables that fit a terminal: right-aligned numbers, the last words wrapped, no colour."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH = 80
GAP = 2
LEAST = 12


@dataclass(frozen=True)
class Column:
    """A column of a text table: its head (lines), whether it holds numbers, its least width."""

    head: str
    number: bool = False
    width: int = 0


def text_table(columns: Sequence[Column], rows: Sequence[Sequence[str]], *, width: int = WIDTH) -> str:
    """A table of at most ``width`` characters; columns of words share and wrap what the numbers leave."""
    widths = _widths(columns, rows, width)
    heads = [column.head.split("\n") for column in columns]
    tallest = max(len(head) for head in heads)
    lines = [
        _line(
            columns,
            [head[i - tallest + len(head)] if i >= tallest - len(head) else "" for head in heads],
            widths,
        )
        for i in range(tallest)
    ]
    lines.append("-" * min(width, sum(widths) + GAP * (len(widths) - 1)))
    for row in rows:
        cells = [textwrap.wrap(cell, max(size, 1)) or [""] for cell, size in zip(row, widths, strict=True)]
        deepest = max(len(cell) for cell in cells)
        lines += [_line(columns, [c[i] if i < len(c) else "" for c in cells], widths) for i in range(deepest)]
    return "\n".join(line.rstrip() for line in lines)


def paragraph(text: str, *, width: int = WIDTH, indent: str = "") -> str:
    """Text wrapped to ``width``, later lines indented."""
    return textwrap.fill(text, width, subsequent_indent=indent)


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
    while sum(natural) > room:
        words = [i for i, column in enumerate(columns) if not column.number and natural[i] > LEAST]
        if not words:
            break
        natural[max(words, key=lambda i: natural[i])] -= 1
    return natural


def _line(columns: Sequence[Column], cells: Sequence[str], widths: Sequence[int]) -> str:
    parts = [
        cell.rjust(size) if column.number else cell.ljust(size)
        for column, cell, size in zip(columns, cells, widths, strict=True)
    ]
    return (" " * GAP).join(parts)
