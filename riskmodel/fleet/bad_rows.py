"""Writes the problems of a fleet's tables to a file, one a row, for whoever is to put them right."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable
from pathlib import Path

from riskmodel.errors import Problem

COLUMNS = ("file", "row", "column", "rule", "value")


def write_problems(path: Path | str, problems: Iterable[Problem]) -> int:
    """Writes every problem as a row of a CSV file of COLUMNS, and says how many; only the head where there are none.

    Problems may come one by one, as tables are read. The file is written beside ``path``, forced to the disk and
    renamed: the old file or the new, never half. ``value`` is as messages show it: long text is cut.

    Raises OSError if the folder or the file cannot be written.
    """
    path = Path(path)
    partial = path.with_name(f".{path.name}.{os.getpid()}.partial")
    written = 0
    try:
        with partial.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(COLUMNS)
            for each in problems:
                writer.writerow((each.file, each.row, each.column, each.rule, each.value))
                written += 1
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, path)
    finally:
        partial.unlink(missing_ok=True)
    return written
