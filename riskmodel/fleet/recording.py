"""Adds one service record to a fleet's own table, safely: checked first, written whole or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from pathlib import Path

from riskmodel.atomic_write import atomic_write
from riskmodel.errors import Problem, TableError
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.dates import refuse_other_than_days
from riskmodel.fleet.drafts import Draft, Stamp, draft_record, file_stamp, read_draft, refuse_misread
from riskmodel.fleet.load import Opened, bounds_of, check_sources, checked_sources
from riskmodel.fleet.locks import only_writer
from riskmodel.fleet.records_files import records_folders
from riskmodel.fleet.repeats import refuse_repeat
from riskmodel.fleet.settings import Settings, read_settings
from riskmodel.fleet.sources import RawFleet, fleet_folder, read_sources
from riskmodel.fleet.undo_file import Remembered, remember
from riskmodel.fleet.wording import plain_texts


class Repeat(StrEnum):
    """What becomes of a record that says what another says already."""

    REFUSED = "refused"
    MEANT = "meant"


@dataclass(frozen=True)
class Added:
    """Where a record went: the file as messages name it, the spreadsheet's row, and the row as a line of text.

    ``new_columns`` were added at the end of the head, because the record needed them; ``notes`` are plain
    sentences on what the keeper may not expect.
    """

    file: str
    row: int
    line: str
    new_columns: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def add_record(
    path: Path | str,
    record: Mapping[str, str],
    *,
    today: date | None = None,
    repeat: Repeat = Repeat.REFUSED,
) -> Added:
    """Adds a record to the fleet at ``path``: a folder of CSV or Parquet tables, or an Excel workbook.

    ``record`` holds texts by column: those of the records table and the keeper's own. Without a date it
    happened ``today`` (default: the calendar's). A day in ISO form is written in the keeper's date format.

    The fleet is checked with the record in it, while a lock keeps other writers of ours out. Whenever this
    stops, the table is the old one or the new one. What the table was is remembered beside it, so that
    ``take_back_record`` can put it there again.

    Raises
    ------
    TableError
        If the fleet with the record breaks a rule, was broken before, is held by another writer for too
        long, or was changed or is open elsewhere, or if another record says the same and ``repeat`` does not
        say that it is meant; nothing is written.
    ParameterError
        For a column that the table neither has nor may have.
    OSError
        If the folder or the file cannot be written.
    """
    path = Path(path)
    folders = records_folders(path)
    with only_writer(*folders):
        draft, added = _checked_draft(path, record, today, repeat)
        _refuse_moved(draft, folders)
        refuse_in_use(draft.target, draft.stamp)
        remember(draft.target, draft.content, Remembered(added.file, added.row, added.line))
        atomic_write(draft.target, draft.content)
    return added


def preview_record(
    path: Path | str,
    record: Mapping[str, str],
    *,
    today: date | None = None,
    repeat: Repeat = Repeat.REFUSED,
) -> Added:
    """What ``add_record`` would add and where, with the same refusals; writes nothing."""
    return _checked_draft(Path(path), record, today, repeat)[1]


def _checked_draft(
    path: Path, record: Mapping[str, str], today: date | None, repeat: Repeat
) -> tuple[Draft, Added]:
    refuse_other_than_days(today=today)
    today = today or date.today()
    settings = read_settings(fleet_folder(path))
    latest = max(settings.as_of or today, today)
    raw = read_sources(path, settings)
    _refuse_broken(path, raw.problems)
    texts = {"date": today.isoformat(), **plain_texts(record)}
    draft = draft_record(path, raw, texts, settings)
    table = read_draft(draft, settings)
    after = replace(raw, tables={**raw.tables, "records": table})
    records = _checked_records(path, raw, after, settings, latest)
    refuse_misread(draft, raw.tables.get("records"), table, settings)
    if repeat is Repeat.REFUSED:
        refuse_repeat(records)
    notes = _notes(draft.target)
    return draft, Added(table.file, int(table.rows[-1]), draft.line, draft.new_columns, notes)


def _checked_records(
    path: Path, before: RawFleet, after: RawFleet, settings: Settings, latest: date
) -> CheckedTable:
    opened = Opened(after, bounds_of(settings, latest), latest, "today", path.name)
    tables, problems = checked_sources(opened)
    if problems:
        _refuse_broken(path, check_sources(before, settings, latest))
        raise TableError(problems)
    return tables["records"]


def _refuse_broken(path: Path, problems: list[Problem] | tuple[Problem, ...]) -> None:
    """The fleet's own problems, with a word first that they are not the record's."""
    if problems:
        rule = "must be in order before a record is added"
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        raise TableError([Problem(path.resolve().name, 0, "", rule, count), *problems])


def _refuse_moved(draft: Draft, folders: set[Path]) -> None:
    """Raises TableError if the table lies elsewhere than when its folder was locked: a link was changed."""
    if draft.target.resolve().parent not in folders:
        rule = "must not be moved while a record is added: try again"
        raise TableError([Problem(draft.target.name, 0, "", rule, "another folder")])


def _notes(target: Path) -> tuple[str, ...]:
    names = target.stat().st_nlink if target.exists() else 1
    if names < 2:
        return ()
    return (
        f"{target.name} was one file under {names} names (hard links): the record stands under this name only, "
        "and the other names keep the old table. A symbolic link would keep them one.",
    )


def refuse_in_use(target: Path, stamp: Stamp, doing: str = "added") -> None:
    """Raises TableError if a table is no longer what it was when it was read, or is open in a spreadsheet program."""
    name = target.name
    if file_stamp(target) != stamp:
        rule = f"must not change while a record is {doing}: try again"
        raise TableError([Problem(name, 0, "", rule, "another version")])
    for place in {target, target.resolve()}:
        for mark in (f"~${place.name}", f".~lock.{place.name}#"):
            if place.with_name(mark).exists():
                # Its owner's next save would write over the record.
                rule = (
                    "must be closed in the spreadsheet program first (after a crash of it, delete the mark)"
                )
                raise TableError([Problem(name, 0, "", rule, f"the mark {mark}")])
