"""Cuts a Parquet table into stretches that can be read apart, and reads each a million rows at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet

from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.files import readable
from riskmodel.fleet.reading import PARQUET, refuse_nested

# The head of a table is its row 1.
FIRST_ROW = 2
# Rows held in memory at a time.
MOST_ROWS = 1_000_000
# A row group is cut into so many stretches at most: to begin inside it, what stands before must be read over, at about
# a quarter of what counting it takes (measured), so that four cost a third more and keep four processes busy.
MOST_STRETCHES = 4


@dataclass(frozen=True)
class Stretch:
    """``rows`` of a row ``group``, from its row ``skip`` on; the first has the number ``first`` in the table."""

    group: int
    skip: int
    rows: int
    first: int


def stretches_of(path: Path, most_rows: int = MOST_ROWS) -> list[Stretch]:
    """The whole table, cut; raises TableError as ``open_parquet``."""
    file = open_parquet(path).metadata
    found: list[Stretch] = []
    first = FIRST_ROW
    for group in range(file.num_row_groups):
        rows = file.row_group(group).num_rows
        pieces = min(-(-rows // most_rows), MOST_STRETCHES)
        ends = [rows * each // pieces for each in range(pieces + 1)] if pieces else [0]
        for start, end in pairwise(ends):
            found.append(Stretch(group, start, end - start, first + start))
        first += rows
    return found


def batches(
    path: Path, stretch: Stretch, most_rows: int = MOST_ROWS, columns: Sequence[str] | None = None
) -> Iterator[tuple[Any, IntArray]]:
    """Tables of at most ``most_rows`` rows, with the number of each row in the whole table.

    Raises
    ------
    TableError
        For a file that cannot be read.
    """
    file = open_parquet(path)
    end, place = stretch.skip + stretch.rows, 0
    with readable(path.name, PARQUET):
        for batch in file.iter_batches(most_rows, row_groups=[stretch.group], columns=columns):
            start, stop = max(stretch.skip - place, 0), min(end - place, len(batch))
            if start < stop:
                first = stretch.first + place + start - stretch.skip
                some = pa.Table.from_batches([batch.slice(start, stop - start)])
                yield some, np.arange(first, first + len(some), dtype=np.int64)
            place += len(batch)
            if place >= end:
                return


def open_parquet(path: Path) -> Any:
    """The file, opened. Raises TableError where it is none, or a column holds more than plain values."""
    with readable(path.name, PARQUET):
        # Read piece by piece: a row group may be as long as the file.
        file = pyarrow.parquet.ParquetFile(path, buffer_size=1 << 20)
        refuse_nested(file.schema_arrow, path.name)
    return file
