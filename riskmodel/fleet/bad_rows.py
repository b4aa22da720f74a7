"""Writes the problems of a fleet's tables to a file, one a row, for whoever is to put them right."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from io import TextIOWrapper
from pathlib import Path
from typing import BinaryIO, TextIO

from riskmodel.atomic_write import atomic_file
from riskmodel.errors import Problem
from riskmodel.safe_text import inert

COLUMNS = ("file", "row", "column", "rule", "value")


def write_problems(
    path: Path | str, problems: Iterable[Problem], *, text: Callable[[str], str] = inert
) -> int:
    """Writes every problem as a row of a CSV file of COLUMNS, and says how many; only the head where there are none.

    Problems may come one by one, as tables are read. The file is written beside ``path``, forced to the disk and
    renamed: the old file or the new, never half. ``value`` is as messages show it: long text is cut.
    ``text`` is what becomes of each cell's text; by default nothing is left that a spreadsheet would work out.

    Raises OSError if the folder or the file cannot be written.
    """
    written = 0
    with atomic_file(path) as file, _as_text(file) as lines:
        writer = csv.writer(lines, lineterminator="\n")
        writer.writerow(COLUMNS)
        for each in problems:
            writer.writerow((text(each.file), each.row, text(each.column), text(each.rule), text(each.value)))
            written += 1
    return written


@contextmanager
def _as_text(file: BinaryIO) -> Iterator[TextIO]:
    """The same file for text, left open at the end for its owner to close."""
    text = TextIOWrapper(file, encoding="utf-8", newline="")
    try:
        yield text
        text.flush()
    finally:
        text.detach()
