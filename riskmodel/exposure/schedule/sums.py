"""Adds up what the stretches of a schedule's parts tell."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.ages import ALL_CELLS
from riskmodel.exposure.schedule.boats import ITEMS, BoolArray, Schedule
from riskmodel.exposure.schedule.part_ids import Lookup
from riskmodel.exposure.schedule.parts import MOST_PARTS, PartsRead, count_parts
from riskmodel.exposure.schedule.running import Runner
from riskmodel.exposure.schedule.stretches import stretches_of
from riskmodel.exposure.schedule.whole_book import Tell, WholeBook, once

# Problems of parts that are told one by one; the rest are counted.
MOST_TOLD = 1_000_000


@dataclass(frozen=True, eq=False)
class Sums:
    """All parts: ``number`` (kinds, classes, ALL_CELLS); ``age`` (classes, ALL_CELLS) mean of each cell [days];
    ``listed`` and ``broken`` boats (n,); the rest as in PartsRead."""

    number: npt.NDArray[np.int32]
    age: npt.NDArray[np.float64]
    listed: BoolArray
    broken: BoolArray
    later: int
    recalled: int
    rows: int
    gone: int
    homeless: int
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


class _Adding:
    """Sums under way."""

    def __init__(self, schedule: Schedule, book: WholeBook) -> None:
        classes, self.boats = len(schedule.bounds.item_classes), len(book.sound)
        self.shape = len(book.boats.kinds.boats), classes, ALL_CELLS
        # Half the room of the usual whole numbers: no schedule has two billion parts of one kind.
        self.number = np.zeros(int(np.prod(self.shape)), dtype=np.int32)
        self.days, self.dated = (np.zeros(self.shape[1:], dtype=np.int64) for _ in range(2))
        self.bits = {name: np.zeros(-(-self.boats // 8), dtype=np.uint8) for name in ("listed", "broken")}
        self.whole = dict.fromkeys(("later", "recalled", "rows", "gone", "homeless"), 0)
        self.problems: list[Problem] = []
        self.untold = 0
        self.notes: list[str] = []

    def add(self, one: PartsRead) -> None:
        summed = self.number[one.cell] + one.number
        if summed.max(initial=0) > MOST_PARTS:
            rule = f"must add up to no more than {MOST_PARTS:,} parts of one class on boats of one kind"
            raise TableError([Problem(ITEMS, 0, "quantity", rule, "more")])
        self.number[one.cell] = summed.astype(np.int32)
        self.days += one.days
        self.dated += one.dated
        for name, bits in self.bits.items():
            bits |= getattr(one, name)
        for name in self.whole:
            self.whole[name] += getattr(one, name)
        told = one.problems[: max(MOST_TOLD - len(self.problems), 0)]
        self.problems += told
        self.untold += len(one.problems) - len(told)
        self.notes += one.notes

    def done(self) -> Sums:
        listed, broken = (np.unpackbits(each, count=self.boats).astype(bool) for each in self.bits.values())
        age = np.divide(self.days, 2.0 * self.dated, out=np.zeros(self.days.shape), where=self.dated > 0)
        if self.untold:
            rule = f"must be mended as well: problems beyond the first {MOST_TOLD:,}, which are not listed"
            self.problems.append(Problem(ITEMS, 0, "", rule, f"{self.untold:,}"))
        told = sorted(self.problems, key=lambda each: each.row or MOST_PARTS)
        number = self.number.reshape(self.shape)
        return Sums(number, age, listed, broken, **self.whole, problems=tuple(told), notes=once(self.notes))


def add_parts(schedule: Schedule, book: WholeBook, lookup: Lookup, tools: tuple[Runner, Tell]) -> Sums:
    """All parts of a schedule, counted; none where it lists none."""
    run, tell = tools
    adding = _Adding(schedule, book)
    path = schedule.folder / ITEMS
    pieces = stretches_of(path) if path.is_file() else []
    done, total = 0, sum(each.rows for each in pieces)
    for one, piece in zip(run(count_parts, (schedule, lookup), pieces), pieces, strict=True):
        adding.add(one)
        done += piece.rows
        tell("parts", done, total)
    return adding.done()


def lookup_of(book: WholeBook, folder: Path) -> Lookup:
    """What parts find their boats by, written to ``folder``; of two boats of one id, the first."""
    order = np.argsort(book.boats.mark, kind="stable")
    order = order[book.named[order]]
    _save(folder, "marks", book.boats.mark[order])
    _save(folder, "position", order.astype(np.int32))
    _save(folder, "kind", book.boats.kind)
    _save(folder, "built", book.boats.built)
    return Lookup(folder)


def _save(folder: Path, name: str, values: npt.NDArray[Any]) -> None:
    partial = folder / f"{name}.partial.npy"
    np.save(partial, values)
    partial.rename(folder / f"{name}.npy")
