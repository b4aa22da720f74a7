"""Reads a whole schedule, stretch by stretch: boats told apart and counted, then their parts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import numpy.typing as npt

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.boats import ITEMS, BoolArray, Schedule
from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.exposure.schedule.heads import check_heads
from riskmodel.exposure.schedule.running import Runner
from riskmodel.exposure.schedule.stretches import FIRST_ROW
from riskmodel.exposure.schedule.sums import Sums, add_parts, lookup_of
from riskmodel.exposure.schedule.whole_book import Boats, Tell, WholeBook, once, only_sound, read_whole_book
from riskmodel.fleet.load import NO_ITEMS, NO_RECORDS
from riskmodel.fleet.numbers import DECIMAL_COMMA
from riskmodel.work_folder import work_folder


@dataclass(frozen=True, eq=False)
class LeftOut:
    """Boats left out: how many ``rows``, the ``value`` of those whose value could be read [thousandths], how many rows
    it could not be read of, ``unread``; and how many rows of ``parts`` went with them or were of no boat."""

    rows: int = 0
    value: int = 0
    unread: int = 0
    parts: int = 0


@dataclass(frozen=True, eq=False)
class Counted:
    """A schedule as counts. ``number`` (kinds, classes, ALL_CELLS) of parts; ``age`` (classes, ALL_CELLS): mean age of
    those in each cell [days]; ``listed`` (n,): boats that list parts.
    ``left_out``, ``problems``, ``notes``; ``later`` and ``recalled`` rows of parts, ``parts`` in all, ``homeless``:
    broken rows of no boat."""

    boats: Boats
    number: npt.NDArray[np.int32]
    age: npt.NDArray[np.float64]
    listed: BoolArray
    left_out: LeftOut
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    later: int
    recalled: int
    parts: int
    homeless: int = 0


def read_schedule(schedule: Schedule, run: Runner, tell: Tell) -> Counted:
    """A schedule whose every row is sound, counted.

    Raises
    ------
    TableError
        With every broken row.
    """
    notes = check_heads(schedule.folder)
    with work_folder(schedule.work_folder) as folder:
        book, sums = _read(schedule, folder, None, (run, tell))
    problems = (*book.problems, *sums.problems)
    if problems:
        raise TableError(_comma_once(problems))
    return _counted(schedule, (book, sums), (LeftOut(), (), 0), notes)


def read_sound_rows(schedule: Schedule, run: Runner, tell: Tell) -> Counted:
    """The same without broken rows: a boat with one, of its own or of a part, is left out whole, for with fewer parts
    than it has it would lose too little. ``problems`` tells of each, ``left_out`` adds them up; all else is as it would
    be had these boats never been there.

    Raises
    ------
    TableError
        For what is wrong with a table as a whole, and where no boat is left.
    """
    notes = check_heads(schedule.folder)
    with work_folder(schedule.work_folder) as folder:
        book, sums = _read(schedule, folder, None, (run, tell))
        problems, homeless = (*book.problems, *sums.problems), sums.homeless
        _refuse_whole(problems)
        gone = ~book.sound | sums.broken
        if gone.all():
            raise TableError(problems)
        left_out = _left_out(book.boats, gone)
        if gone.any():
            # Groups must be as they are without these boats, so that the boats are read again too.
            book, sums = _read(schedule, folder, _rows(book, gone, folder), (run, tell))
    left_out = replace(left_out, parts=sums.gone)
    return _counted(schedule, (book, sums), (left_out, problems, homeless), notes)


def _read(
    schedule: Schedule, folder: Path, gone: Path | None, tools: tuple[Runner, Tell]
) -> tuple[WholeBook, Sums]:
    book = read_whole_book(schedule, gone, tools)
    lookup = lookup_of(book, folder)
    # Ids are told apart on the disk from here on.
    book = replace(book, boats=replace(book.boats, mark=book.boats.mark[:0]))
    return book, add_parts(schedule, book, lookup, tools)


def _counted(
    schedule: Schedule,
    found: tuple[WholeBook, Sums],
    told: tuple[LeftOut, tuple[Problem, ...], int],
    notes: tuple[str, ...],
) -> Counted:
    book, sums = found
    left_out, problems, homeless = told
    boats = only_sound(book)
    listing = (schedule.folder / ITEMS).is_file()
    return Counted(
        boats=boats,
        number=sums.number,
        age=sums.age,
        listed=sums.listed[book.sound],
        left_out=left_out,
        problems=problems,
        notes=once(
            (
                *book.notes,
                *sums.notes,
                *notes,
                *(() if listing else (NO_ITEMS,)),
                NO_RECORDS,
                *_later(sums.later, schedule.as_of),
            )
        ),
        later=sums.later,
        recalled=sums.recalled,
        parts=sums.rows,
        homeless=homeless,
    )


def _later(count: int, as_of: date) -> tuple[str, ...]:
    items = "1 item was" if count == 1 else f"{count:,} items were"
    return (f"{items} left out, installed after {as_of}.",) if count else ()


def _left_out(boats: Boats, gone: BoolArray) -> LeftOut:
    value: IntArray = boats.value[gone]
    # In two halves: thousandths of large values, added up, pass what 64 bits hold.
    total = (int((value >> 32).sum()) << 32) + int((value & 0xFFFFFFFF).sum())
    return LeftOut(len(value), total, int((value <= 0).sum()))


def _rows(book: WholeBook, gone: BoolArray, folder: Path) -> Path:
    """A file that marks the rows of these boats, by their place in the table."""
    path = folder / "gone.npy"
    marked = np.zeros(int(book.boats.row.max()) - FIRST_ROW + 1, dtype=bool)
    marked[book.boats.row[gone] - FIRST_ROW] = True
    np.save(path, marked)
    return path


def _refuse_whole(problems: tuple[Problem, ...]) -> None:
    whole = [each for each in problems if each.row <= 1 or each.rule == DECIMAL_COMMA]
    if whole:
        first = set(whole)
        raise TableError(_comma_once((*whole, *(each for each in problems if each not in first))))


def _comma_once(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """One mistake a table is told once, however many stretches found it."""
    told: dict[object, Problem] = {}
    for each in problems:
        told.setdefault((each.file, each.rule) if each.rule == DECIMAL_COMMA else len(told), each)
    return tuple(told.values())
