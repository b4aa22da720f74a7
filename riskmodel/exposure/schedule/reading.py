"""Reads a whole schedule, row group by row group: boats told apart and counted, then their parts."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.ages import ALL_CELLS
from riskmodel.exposure.schedule.boats import (
    ITEMS,
    VESSELS,
    BoatsRead,
    LeftOut,
    Schedule,
    open_parquet,
    read_boats,
)
from riskmodel.exposure.schedule.groups import Groups, IntArray, joined
from riskmodel.exposure.schedule.parts import NOWHERE, Lookup, count_parts
from riskmodel.exposure.schedule.running import Runner

Tell = Callable[[str, int, int], None]
# Problems told one by one; the rest are counted.
MOST_TOLD = 1_000_000


@dataclass(frozen=True, eq=False)
class Boats:
    """All boats of a schedule: ``kinds`` and ``money`` groups, and by boat (n,) its ``kind``, its place in ``priced``,
    its ``port`` among ``ports``, the year it was ``built`` (0: not said), its ``row`` and its ``value`` [thousandths];
    ``mark`` of its id."""

    kinds: Groups
    money: Groups
    kind: npt.NDArray[np.int32]
    priced: npt.NDArray[np.int32]
    mark: npt.NDArray[np.uint64]
    port: npt.NDArray[np.int32]
    ports: tuple[str, ...]
    built: npt.NDArray[np.int16]
    row: npt.NDArray[np.int32]
    value: IntArray


@dataclass(frozen=True, eq=False)
class Counted:
    """A schedule as counts. ``number`` (kinds, classes, ALL_CELLS) of parts; ``age`` (classes, ALL_CELLS): mean age of
    those in each cell [days]; ``listed`` (n,): boats that list parts; ``kept`` (n,): boats that are not left out.
    ``left_out``, ``problems``, ``notes``; ``later`` and ``recalled`` parts, ``parts`` in all, ``homeless``: broken rows
    of no boat."""

    boats: Boats
    number: npt.NDArray[np.int32]
    age: npt.NDArray[np.float64]
    listed: npt.NDArray[np.bool_]
    kept: npt.NDArray[np.bool_]
    left_out: LeftOut
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    later: int
    recalled: int
    parts: int
    homeless: int = 0


@dataclass(frozen=True, eq=False)
class _Sums:
    number: npt.NDArray[np.int32]
    days: IntArray
    dated: IntArray
    listed: npt.NDArray[np.bool_]
    broken: npt.NDArray[np.bool_]
    later: int
    recalled: int
    rows: int
    homeless: int
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def read_schedule(schedule: Schedule, run: Runner, tell: Tell) -> Counted:
    """A schedule whose every row is sound, counted.

    Raises
    ------
    TableError
        With every broken row.
    """
    found = read_sound_rows(schedule, run, tell)
    if found.problems:
        raise TableError(found.problems)
    return found


def read_sound_rows(schedule: Schedule, run: Runner, tell: Tell) -> Counted:
    """The same without broken rows: a boat with one, of its own or of a part, is left out whole, for with fewer parts
    than it has it would lose too little. ``problems`` tells of each, ``left_out`` adds them up."""
    boats, problems, notes, left_out = _read_boats(schedule, run, tell)
    kept = np.ones(len(boats.kind), dtype=bool)
    if not (schedule.folder / ITEMS).is_file():
        return _without_parts(schedule, (boats, kept, left_out), problems, notes)
    with tempfile.TemporaryDirectory(prefix="riskmodel-", dir=schedule.work_folder) as folder:
        lookup = _lookup(boats, kept, Path(folder))
        # Ids are told apart on the disk from here on.
        boats = replace(boats, mark=boats.mark[:0])
        sums = _read_parts(schedule, lookup, (boats, run, tell))
        if sums.broken.any():
            kept &= ~sums.broken
            _save(lookup.folder, "kind", np.where(kept, boats.kind, NOWHERE).astype(np.int32))
            told = sums.problems
            sums = replace(
                _read_parts(schedule, lookup, (boats, run, tell)), problems=told, homeless=sums.homeless
            )
    gone = ~kept
    left_out = LeftOut(
        left_out.rows + int(gone.sum()), left_out.value + int(boats.value[gone].sum()), left_out.unread
    )
    return Counted(
        boats=boats,
        number=sums.number,
        age=np.divide(sums.days, 2.0 * sums.dated, out=np.zeros(sums.days.shape), where=sums.dated > 0),
        listed=sums.listed & kept,
        kept=kept,
        left_out=left_out,
        problems=(*problems, *sums.problems),
        notes=_once((*notes, *sums.notes)),
        later=sums.later,
        recalled=sums.recalled,
        parts=sums.rows,
        homeless=sums.homeless,
    )


def _without_parts(
    schedule: Schedule,
    known: tuple[Boats, npt.NDArray[np.bool_], LeftOut],
    problems: tuple[Problem, ...],
    notes: tuple[str, ...],
) -> Counted:
    boats, kept, left_out = known
    shape = len(schedule.bounds.item_classes), ALL_CELLS
    return Counted(
        boats=boats,
        number=np.zeros((len(boats.kinds.boats), *shape), dtype=np.int32),
        age=np.zeros(shape),
        listed=np.zeros(len(kept), dtype=bool),
        kept=kept,
        left_out=left_out,
        problems=problems,
        notes=notes,
        later=0,
        recalled=0,
        parts=0,
    )


def _read_boats(
    schedule: Schedule, run: Runner, tell: Tell
) -> tuple[Boats, tuple[Problem, ...], tuple[str, ...], LeftOut]:
    file = open_parquet(schedule.folder / VESSELS).metadata
    rows = [file.row_group(each).num_rows for each in range(file.num_row_groups)]
    found: list[BoatsRead] = []
    done = 0
    for each, count in zip(run(read_boats, (schedule,), range(len(rows))), rows, strict=True):
        found.append(each)
        done += count
        tell("boats", done, sum(rows))
    if not sum(len(each.kind) for each in found):
        told = tuple(problem for each in found for problem in each.problems)
        raise TableError(told or (Problem(VESSELS, 0, "", "must hold at least one boat", "none"),))
    left_out = LeftOut(
        *(sum(getattr(each.left_out, name) for each in found) for name in ("rows", "value", "unread"))
    )
    boats = _boats(found)
    problems = [problem for each in found for problem in each.problems]
    problems += _twice(boats)
    return boats, tuple(problems), _once(note for each in found for note in each.notes), left_out


def _boats(found: list[BoatsRead]) -> Boats:
    kinds, kind_places = joined([each.kinds for each in found])
    money, money_places = joined([each.money for each in found])
    ports = sorted({port for each in found for port in each.ports})
    of_port = {port: place for place, port in enumerate(ports)}
    port = [np.array([of_port[each] for each in one.ports], dtype=np.int32)[one.port] for one in found]
    pairs = zip(found, kind_places, money_places, strict=True)
    both = [(to_kind[one.kind], to_money[one.priced]) for one, to_kind, to_money in pairs]
    return Boats(
        kinds=kinds,
        money=money,
        kind=np.concatenate([kind for kind, _ in both]).astype(np.int32),
        priced=np.concatenate([priced for _, priced in both]).astype(np.int32),
        mark=np.concatenate([each.mark for each in found]),
        port=np.concatenate(port),
        ports=tuple(ports),
        built=np.concatenate([each.built for each in found]),
        row=np.concatenate([each.row for each in found]),
        value=np.concatenate([each.value for each in found]),
    )


def _twice(boats: Boats) -> list[Problem]:
    """Boats whose id stands in another row group too."""
    order = np.argsort(boats.mark, kind="stable")
    same = np.flatnonzero(boats.mark[order][1:] == boats.mark[order][:-1])
    return [
        Problem(
            VESSELS,
            int(boats.row[order[place + 1]]),
            "vessel_id",
            f"must be given once, row {boats.row[order[place]]} has it too",
            "the same id",
        )
        for place in same
    ]


def _lookup(boats: Boats, kept: npt.NDArray[np.bool_], folder: Path) -> Lookup:
    order = np.argsort(boats.mark)
    _save(folder, "marks", boats.mark[order])
    _save(folder, "position", order.astype(np.int32))
    _save(folder, "kind", np.where(kept, boats.kind, NOWHERE).astype(np.int32))
    return Lookup(folder)


def _save(folder: Path, name: str, values: npt.NDArray[Any]) -> None:
    partial = folder / f"{name}.partial.npy"
    np.save(partial, values)
    partial.rename(folder / f"{name}.npy")


def _read_parts(schedule: Schedule, lookup: Lookup, tools: tuple[Boats, Runner, Tell]) -> _Sums:
    boats, run, tell = tools
    file = open_parquet(schedule.folder / ITEMS).metadata
    classes, total = len(schedule.bounds.item_classes), file.num_rows
    # Half the room of the usual whole numbers: no schedule has two billion parts of one kind.
    number = np.zeros(len(boats.kinds.boats) * classes * ALL_CELLS, dtype=np.int32)
    days, dated = (np.zeros((classes, ALL_CELLS), dtype=np.int64) for _ in range(2))
    bits = {name: np.zeros(-(-len(boats.kind) // 8), dtype=np.uint8) for name in ("listed", "broken")}
    later = recalled = rows = homeless = 0
    problems: list[Problem] = []
    notes: list[str] = []
    for one in run(count_parts, (schedule, lookup), range(file.num_row_groups)):
        number[one.cell] += one.number.astype(np.int32)
        days += one.days
        dated += one.dated
        for name, whole in bits.items():
            whole |= getattr(one, name)
        later, recalled, rows = later + one.later, recalled + one.recalled, rows + one.rows
        homeless += one.homeless
        problems += one.problems[: max(MOST_TOLD - len(problems), 0)]
        notes += one.notes
        tell("parts", rows, total)
    listed, broken = (np.unpackbits(each, count=len(boats.kind)).astype(bool) for each in bits.values())
    cells = number.reshape(-1, classes, ALL_CELLS)
    return _Sums(
        cells, days, dated, listed, broken, later, recalled, rows, homeless, tuple(problems), tuple(notes)
    )


def _once(notes: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(notes))
