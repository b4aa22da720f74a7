"""Adds one service record to a fleet's own table, safely: checked first, written whole or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from riskmodel.atomic_write import atomic_write
from riskmodel.errors import Problem, TableError
from riskmodel.fleet.dates import refuse_other_than_days
from riskmodel.fleet.drafts import Draft, draft_record, file_stamp, read_draft, refuse_misread
from riskmodel.fleet.load import check_sources
from riskmodel.fleet.locks import only_writer
from riskmodel.fleet.settings import Settings, read_settings
from riskmodel.fleet.sources import RawFleet, fleet_folder, read_sources
from riskmodel.fleet.wording import plain_texts


@dataclass(frozen=True)
class Added:
    """Where a record went: the file as messages name it, the spreadsheet's row, and the row as a line of text.

    ``new_columns`` were added at the end of the head, because the record needed them.
    """

    file: str
    row: int
    line: str
    new_columns: tuple[str, ...] = ()


def add_record(path: Path | str, record: Mapping[str, str], *, today: date | None = None) -> Added:
    """Adds a record to the fleet at ``path``: a folder of CSV or Parquet tables, or an Excel workbook.

    ``record`` holds texts by column: those of the records table and the keeper's own. Without a date it
    happened ``today`` (default: the calendar's). A day in ISO form is written in the keeper's date format.

    The fleet is checked with the record in it, while a lock keeps other writers of ours out. Whenever this
    stops, the table is the old one or the new one.

    Raises
    ------
    TableError
        If the fleet with the record breaks a rule, was broken before, is held by another writer for too
        long, or was changed or is open elsewhere; nothing is written.
    ParameterError
        For a column that the table neither has nor may have.
    OSError
        If the folder or the file cannot be written.
    """
    path = Path(path)
    with only_writer(fleet_folder(path.resolve())):
        draft, added = _checked_draft(path, record, today)
        _refuse_in_use(draft)
        atomic_write(draft.target, draft.content)
    return added


def preview_record(path: Path | str, record: Mapping[str, str], *, today: date | None = None) -> Added:
    """What ``add_record`` would add and where, with the same refusals; writes nothing."""
    return _checked_draft(Path(path), record, today)[1]


def _checked_draft(path: Path, record: Mapping[str, str], today: date | None) -> tuple[Draft, Added]:
    refuse_other_than_days(today=today)
    today = today or date.today()
    settings = read_settings(fleet_folder(path))
    latest = max(settings.as_of or today, today)
    raw = read_sources(path, settings)
    _refuse_broken(path, raw.problems)
    texts = {"date": today.isoformat(), **plain_texts(record)}
    draft = draft_record(path, raw, texts, settings)
    table = read_draft(draft, settings)
    _refuse_problems(path, raw, replace(raw, tables={**raw.tables, "records": table}), settings, latest)
    refuse_misread(draft, raw.tables.get("records"), table, settings)
    return draft, Added(table.file, int(table.rows[-1]), draft.line, draft.new_columns)


def _refuse_problems(path: Path, before: RawFleet, after: RawFleet, settings: Settings, latest: date) -> None:
    problems = check_sources(after, settings, latest)
    if problems:
        _refuse_broken(path, check_sources(before, settings, latest))
        raise TableError(problems)


def _refuse_broken(path: Path, problems: list[Problem] | tuple[Problem, ...]) -> None:
    """The fleet's own problems, with a word first that they are not the record's."""
    if problems:
        rule = "must be in order before a record is added"
        count = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        raise TableError([Problem(path.resolve().name, 0, "", rule, count), *problems])


def _refuse_in_use(draft: Draft) -> None:
    name = draft.target.name
    if file_stamp(draft.target) != draft.stamp:
        rule = "must not change while a record is added: try again"
        raise TableError([Problem(name, 0, "", rule, "another version")])
    for mark in (f"~${name}", f".~lock.{name}#"):
        if draft.target.with_name(mark).exists():
            # Its owner's next save would write over the record.
            rule = "must be closed in the spreadsheet program first (after a crash of it, delete the mark)"
            raise TableError([Problem(name, 0, "", rule, f"the mark {mark}")])
