"""Joins what the stretches of a schedule's boats tell into one book of boats, and finds ids that stand twice in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.place_names import first_spellings
from riskmodel.exposure.schedule.boats import (
    NOWHERE,
    VESSELS,
    BoatsRead,
    BoolArray,
    MarkArray,
    Schedule,
    read_boats,
)
from riskmodel.exposure.schedule.groups import Groups, IntArray, joined
from riskmodel.exposure.schedule.part_ids import texts
from riskmodel.exposure.schedule.running import Runner
from riskmodel.exposure.schedule.stretches import batches, stretches_of
from riskmodel.fleet.heads import column_names
from riskmodel.fleet.problems import shown

Tell = Callable[[str, int, int], None]
# Bands of numbers widen until kinds are few enough, words do not: how many times as many are put up with.
MOST_APART = 10


@dataclass(frozen=True, eq=False)
class Boats:
    """All boats of a schedule: ``kinds`` and ``money`` groups, and by boat (n,) its ``kind``, its place in ``priced``,
    its ``port`` among ``ports``, the year it was ``built`` (0: not said), its ``row`` and its ``value`` [thousandths];
    ``mark`` of its id, until parts have found their boats."""

    kinds: Groups
    money: Groups
    kind: npt.NDArray[np.int32]
    priced: npt.NDArray[np.int32]
    mark: MarkArray
    port: npt.NDArray[np.int32]
    ports: tuple[str, ...]
    built: npt.NDArray[np.int16]
    row: npt.NDArray[np.int32]
    value: IntArray


@dataclass(frozen=True, eq=False)
class WholeBook:
    """Every row of the boats' table (n,), left out or not: ``boats`` (NOWHERE as kind of those that are), ``sound``,
    ``named`` where they have an id, and ``problems`` and ``notes``."""

    boats: Boats
    sound: BoolArray
    named: BoolArray
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def read_whole_book(schedule: Schedule, gone: Path | None, tools: tuple[Runner, Tell]) -> WholeBook:
    """All boats; ``gone`` as in ``read_boats``. Of rows with one id none is sound.

    Raises
    ------
    TableError
        Where there is no boat, and where boats differ in so many words that nothing is saved by counting kinds.
    """
    run, tell = tools
    pieces = stretches_of(schedule.folder / VESSELS)
    found: list[BoatsRead] = []
    done, total = 0, sum(each.rows for each in pieces)
    for some, piece in zip(run(read_boats, (schedule, gone), pieces), pieces, strict=True):
        found += some
        done += piece.rows
        tell("boats", done, total)
    if not sum(len(each.sound) for each in found):
        raise TableError([Problem(VESSELS, 0, "", "must hold at least one boat", "none")])
    boats = _joined(found)
    _refuse_too_many(boats.kinds)
    sound, named = (np.concatenate([getattr(each, name) for each in found]) for name in ("sound", "named"))
    twice, problems = _twice(boats, named, schedule.folder / VESSELS)
    told = sorted((*(each for one in found for each in one.problems), *problems), key=lambda each: each.row)
    return WholeBook(
        boats, sound & ~twice, named, tuple(told), once(note for each in found for note in each.notes)
    )


def _refuse_too_many(kinds: Groups) -> None:
    most = MOST_APART * kinds.like.most
    if len(kinds.boats) > most:
        words = [name for name in kinds.like.words if name in kinds.keys]
        often = max(words, key=lambda name: kinds.keys[name].nunique())
        rule = f"must tell boats apart in few words: at most {most:,} kinds can be assessed"
        value = f"{len(kinds.boats):,} kinds, by {kinds.keys[often].nunique():,} words here"
        raise TableError([Problem(VESSELS, 0, often, rule, value)])


def only_sound(book: WholeBook) -> Boats:
    """The boats that are not left out; those left out must be in no group."""
    if book.sound.all():
        return book.boats
    names = ("kind", "priced", "port", "built", "row", "value")
    return replace(book.boats, **{name: getattr(book.boats, name)[book.sound] for name in names})


def once(notes: Iterable[str]) -> tuple[str, ...]:
    """Each note where it first stands."""
    return tuple(dict.fromkeys(notes))


def _joined(found: Sequence[BoatsRead]) -> Boats:
    kinds, kind_places = joined([each.kinds for each in found])
    money, money_places = joined([each.money for each in found])
    spelt = first_spellings(port for each in found for port in each.ports)
    ports = sorted(set(spelt.values()))
    of_port = {port: place for place, port in enumerate(ports)}
    port = [np.array([of_port[spelt[each]] for each in one.ports], dtype=np.int32)[one.port] for one in found]
    kind = [_moved(one.kind, places) for one, places in zip(found, kind_places, strict=True)]
    priced = [_moved(one.priced, places) for one, places in zip(found, money_places, strict=True)]
    return Boats(
        kinds=kinds,
        money=money,
        kind=np.concatenate(kind),
        priced=np.concatenate(priced),
        mark=np.concatenate([each.mark for each in found]),
        port=np.concatenate(port),
        ports=tuple(ports),
        built=np.concatenate([each.built for each in found]),
        row=np.concatenate([each.row for each in found]),
        value=np.concatenate([each.value for each in found]),
    )


def _moved(group: IntArray, places: IntArray) -> npt.NDArray[np.int32]:
    """Each boat's place among the groups of all stretches."""
    # What stands last is taken by NOWHERE.
    return np.append(places, NOWHERE)[group].astype(np.int32)


def _twice(boats: Boats, named: BoolArray, path: Path) -> tuple[BoolArray, list[Problem]]:
    """Boats (n,) whose id stands in another row too, and a problem for each but the first."""
    twice = np.zeros(len(named), dtype=bool)
    order = np.argsort(boats.mark, kind="stable")
    order = order[named[order]]
    mark = boats.mark[order]
    same = np.append(False, mark[1:] == mark[:-1])
    if not same.any():
        return twice, []
    first = np.maximum.accumulate(np.where(same, 0, np.arange(len(order))))
    twice[order[same]] = twice[order[first[same]]] = True
    rows, before = boats.row[order[same]], boats.row[order[first[same]]]
    ids = _ids(path, frozenset(rows.tolist()))
    problems = [
        Problem(VESSELS, row, "vessel_id", f"must be given once, row {other} has it too", shown(ids[row]))
        for row, other in zip(rows.tolist(), before.tolist(), strict=True)
    ]
    return twice, problems


def _ids(path: Path, rows: frozenset[int]) -> dict[int, Any]:
    """The ids in some rows of the table."""
    found: dict[int, Any] = {}
    wanted = np.array(sorted(rows))
    for piece in stretches_of(path):
        inside = wanted[(wanted >= piece.first) & (wanted < piece.first + piece.rows)]
        for table, numbers in batches(path, piece) if len(inside) else ():
            place = np.flatnonzero(np.isin(numbers, inside))
            column = table.column(column_names(table.column_names, path.name).index("vessel_id"))
            found |= dict(zip(numbers[place].tolist(), texts(column.take(place)).to_pylist(), strict=True))
    return found
