"""The records table as it would be with one record more: its bytes, and how they read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyarrow.parquet

from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.fleet.book_rows import SheetPlace, SheetRecord, book_head, book_with_row, book_with_sheet
from riskmodel.fleet.cells import RawTable
from riskmodel.fleet.csv_rows import csv_head, csv_line, csv_with_row, new_csv
from riskmodel.fleet.dates import parse_dates
from riskmodel.fleet.nearest import folded, suggestion
from riskmodel.fleet.parquet_rows import parquet_with_row
from riskmodel.fleet.reading import read_csv, read_parquet
from riskmodel.fleet.schema import read_schema
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.sources import RawFleet
from riskmodel.fleet.wording import NUMBERS, as_csv, as_typed, day_of
from riskmodel.fleet.workbook import read_workbook
from riskmodel.safe_text import visible
from riskmodel.work_folder import work_folder

Stamp = tuple[int, int, int] | None

_SHEET = " sheet "


@dataclass(frozen=True)
class Draft:
    """The new content of the file that holds the records; nothing is written yet.

    ``target`` is that file, ``stamp`` what the disk said of it when it was read (None: it was not there).
    ``cells`` are the record's texts as they go into the table, ``line`` the same as a line of text, and
    ``new_columns`` what the head did not have before.
    """

    target: Path
    content: bytes
    stamp: Stamp
    cells: Mapping[str, str]
    line: str
    new_columns: tuple[str, ...]


def draft_record(path: Path, raw: RawFleet, texts: Mapping[str, str], settings: Settings) -> Draft:
    """A draft of the fleet at ``path``, read as ``raw``, with a record of these texts.

    A fleet without records gets records.csv, or a records sheet in its workbook.

    Raises ParameterError for a column that the table neither has nor may have.
    """
    records = raw.tables.get("records")
    boats = raw.tables["vessels"]
    if boats.workbook:
        book = path if path.is_file() else path / boats.file.rpartition(_SHEET)[0]
        return _draft_in_book(book, records, texts, settings)
    target = path / (records.file if records else "records.csv")
    if target.suffix.lower() == ".parquet":
        return _draft_in_parquet(target, texts, settings)
    return _draft_in_csv(target, texts, settings)


def read_draft(draft: Draft, settings: Settings) -> RawTable:
    """The records table of a draft, read from a copy outside the fleet as the fleet itself would be."""
    with work_folder() as folder:
        copy = folder / draft.target.name
        copy.write_bytes(draft.content)
        suffix = draft.target.suffix.lower()
        if suffix == ".csv":
            return read_csv(copy, settings)
        return read_parquet(copy) if suffix == ".parquet" else read_workbook(copy)["records"]


def refuse_misread(draft: Draft, before: RawTable | None, after: RawTable, settings: Settings) -> None:
    """Raises TableError unless a draft reads as the old rows and, below them, the record.

    No draft should fail; this stands between a fault of ours and the keeper's only copy.
    """
    same = after.rows.size == (before.rows.size if before else 0) + 1
    for name, cells in after.columns.items() if same else ():
        wanted = before.columns[name].values if before and name in before.columns else ""
        same &= bool(np.all(cells.values[:-1] == wanted))
        same &= _alike(name, draft.cells.get(name, ""), str(cells.values[-1]), settings)
    if not same:
        rule = "must read as the old rows and the new one, so nothing was written: add the record by hand"
        raise TableError([Problem(after.file, int(after.rows[-1]), "", rule, "something else")])


def file_stamp(path: Path) -> Stamp:
    """What changes when a file is written: its time, size and place on the disk; None for no file."""
    if not path.exists():
        return None
    state = path.stat()
    return state.st_mtime_ns, state.st_size, state.st_ino


def _draft_in_csv(target: Path, texts: Mapping[str, str], settings: Settings) -> Draft:
    stamp = file_stamp(target)
    cells = as_csv(texts, settings)
    if stamp is None:
        head = list(read_schema("records").names)
        _new_columns(head, cells)
        content = new_csv(head, cells, settings)
        return _draft(target, content, stamp, (cells, head, ()), settings)
    old = target.read_bytes()
    head = csv_head(old, settings)
    new = _new_columns(head, cells)
    content = csv_with_row(old, cells, new, settings)
    return _draft(target, content, stamp, (cells, [*head, *new], new), settings)


def _draft_in_parquet(target: Path, texts: Mapping[str, str], settings: Settings) -> Draft:
    stamp = file_stamp(target)
    cells = as_typed(texts, settings)
    head = [folded(name) for name in pyarrow.parquet.read_schema(target).names]
    new = _new_columns(head, cells)
    content = parquet_with_row(target, cells, new)
    return _draft(target, content, stamp, (cells, [*head, *new], new), Settings())


def _draft_in_book(
    target: Path, records: RawTable | None, texts: Mapping[str, str], settings: Settings
) -> Draft:
    stamp = file_stamp(target)
    content = target.read_bytes()
    if records is None:
        content = book_with_sheet(content, "records", read_schema("records").names)
    sheet = records.file.rpartition(_SHEET)[2] if records else "records"
    last_row = int(records.rows[-1]) if records and records.rows.size else 1
    place = SheetPlace(sheet, last_row, f"{target.name}{_SHEET}{sheet}")
    cells = {**as_csv(texts, settings), **{name: texts[name] for name in NUMBERS & texts.keys()}}
    head = book_head(content, sheet)
    new = _new_columns(head, cells)
    numbers = frozenset(name for name in NUMBERS & cells.keys() if _is_plain_number(cells[name]))
    record = SheetRecord(cells, numbers, day_of(texts, settings))
    content = book_with_row(content, place, record, [*head, *new])
    return _draft(target, content, stamp, (cells, [*head, *new], new), Settings())


def _draft(
    target: Path,
    content: bytes,
    stamp: Stamp,
    record: tuple[Mapping[str, str], Sequence[str], tuple[str, ...]],
    dialect: Settings,
) -> Draft:
    cells, head, new = record
    line = csv_line([cells.get(name, "") for name in head], dialect)
    return Draft(target, content, stamp, cells, line, new)


def _new_columns(head: Sequence[str], cells: Mapping[str, str]) -> tuple[str, ...]:
    """The columns the table has to be given for this record, in the descriptor's order."""
    known = read_schema("records").names
    faults = [f"{name}{suggestion(name, {*known, *head})}" for name in cells if name not in (*known, *head)]
    if faults:
        raise ParameterError(f"a record must name columns of the records table, got {', '.join(faults)}")
    return tuple(name for name in known if name in cells and name not in head)


def _is_plain_number(text: str) -> bool:
    try:
        return np.isfinite(float(text)) and text.isascii() and "_" not in text
    except ValueError:
        return False


def _alike(name: str, wanted: str, got: str, settings: Settings) -> bool:
    """Whether a cell reads as it was meant; a number or a day may be written in more ways than one."""
    if visible(wanted) == got:
        return True
    if name not in read_schema("records").names:
        # A typed column of the keeper's own may show its values in another form: true as yes, 5 as 5.00.
        return bool(wanted) == bool(got)
    if name in NUMBERS and _is_plain_number(wanted) and _is_plain_number(got):
        return float(wanted) == float(got)
    if name != "date":
        return False
    words = np.array([wanted, got], dtype=object)
    days = parse_dates(words, settings.date_format, True, True).values
    return bool((days[0] == days[1]).all())
