"""Where a schedule's loss sits: contributions of kinds of boat, of what they cost, places, end states, classes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.exposure.schedule.bands import band_words
from riskmodel.exposure.schedule.exposed import ScheduleExposure
from riskmodel.exposure.segments import AGE, END_STATE, ITEM_CLASS, UNKNOWN, WEATHER, age_bands

PLACE = "home_port"
FIGURES = ("before", "after", "worst")
TINY = np.finfo(float).tiny


@dataclass(frozen=True, eq=False)
class _Sums:
    """By segment: ``boats`` and ``value``, and by FIGURES what it contributes [currency]."""

    names: list[str]
    boats: FloatArray
    value: FloatArray
    money: dict[str, FloatArray]


def schedule_segments(found: ScheduleExposure, by: str) -> pd.DataFrame:
    """The frame of exposure.segments for a schedule, by a vessels column, age, end_state or item_class.

    A row of the book is shared out among the kinds of boat in it by their mean chances. Numbers are told in the bands
    that make boats alike. Raises ParameterError for a column that tells no boats apart.
    """
    across: dict[str, Callable[[ScheduleExposure], _Sums]] = {
        END_STATE: _by_state,
        ITEM_CLASS: _by_class,
        PLACE: _by_place,
        AGE: _by_age,
    }
    sums = across[by](found) if by in across else _by_rows(found, by)
    frame = pd.DataFrame({"segment": sums.names, "boats": sums.boats.astype(np.int64), "value": sums.value})
    frame = frame.assign(**sums.money)
    frame["share"] = frame["after"] / max(found.after.total.mean, TINY)
    frame["worst_share"] = frame["worst"] / max(float(frame["worst"].sum()), TINY)
    frame = frame[["segment", "boats", "value", "before", "after", "share", "worst", "worst_share"]]
    frame = frame[frame["boats"] > 0]
    if by != AGE and not _is_number(found, by):
        frame = frame.sort_values(["after", "segment"], ascending=[False, True], kind="stable")
    return frame.reset_index(drop=True)


def each_boat(found: ScheduleExposure) -> dict[str, FloatArray]:
    """By FIGURES the contribution (rows of Kinds, rows of the book) of one boat that is both [currency]."""
    chance = found.risks.mean_chance
    mean = found.book.chance.mean(axis=2) * found.book.count[:, None]
    sides = {"before": found.before.mean, "after": found.after.mean, "worst": found.after.tail}
    return {
        name: chance @ np.divide(whole, mean, out=np.zeros_like(whole), where=mean > 0).T
        for name, whole in sides.items()
    }


def _by_rows(found: ScheduleExposure, by: str) -> _Sums:
    """By a column that tells kinds apart, or one that tells what boats cost."""
    boats = found.priced.boats.astype(float)
    parts = {name: boats * each for name, each in each_boat(found).items()}
    value = boats * found.book.severity.value
    place, names, axis = _segments(found, by)

    def summed(values: FloatArray) -> FloatArray:
        return np.bincount(place, values.sum(axis=1 - axis), len(names)).astype(float)

    money = {name: summed(each) for name, each in parts.items()}
    return _Sums([str(name) for name in names], summed(boats), summed(value), money)


def _segments(found: ScheduleExposure, by: str) -> tuple[npt.NDArray[np.intp], list[str], int]:
    """The segment of each row of Kinds (axis 0) or of the book (axis 1), and the segments' names, numbers in order."""
    kinds, money = found.counted.boats.kinds, found.counted.boats.money
    both = ((kinds, found.kinds.kind, 0), (money, found.priced.used, 1))
    for groups, rows, axis in both:
        if by in groups.like.words:
            names, place = np.unique(groups.keys[by].to_numpy()[rows].astype(str), return_inverse=True)
            return place, [name or UNKNOWN for name in names], axis
        if by in groups.like.numbers:
            bands, place = np.unique(groups.keys[by].to_numpy(dtype=float)[rows], return_inverse=True)
            return place, list(band_words(bands, groups.like.numbers[by], groups.level)), axis
    known = (AGE, END_STATE, ITEM_CLASS, PLACE, *kinds.like.words, *kinds.like.numbers, *money.like.numbers)
    raise ParameterError(
        f"--by must name what tells boats of a schedule apart ({', '.join(known)}), got {by!r}"
    )


def _is_number(found: ScheduleExposure, by: str) -> bool:
    boats = found.counted.boats
    return by in boats.kinds.like.numbers or by in boats.money.like.numbers


def _by_state(found: ScheduleExposure) -> _Sums:
    book = found.book
    states = found.result.trade.end_states
    some = (found.risks.mean_chance > 0).astype(float)
    boats = found.priced.boats.astype(float)
    sides = (found.before.mean, found.after.mean, found.after.tail)
    return _Sums(
        names=[states[name].label for name in book.states],
        boats=boats.sum(axis=1) @ some,
        value=(boats @ book.severity.value) @ some,
        money={name: each.sum(axis=0) for name, each in zip(FIGURES, sides, strict=True)},
    )


def _by_class(found: ScheduleExposure) -> _Sums:
    boats = found.priced.boats.astype(float)
    brought = found.risks.brought
    whole = brought.sum(axis=2, keepdims=True)
    # What a row of the book owes to each class, by end state: its boats' chances, shared out by class.
    by_class = np.einsum("rc,rks->cks", boats, brought)
    share = np.divide(
        by_class,
        np.einsum("rc,rks->cks", boats, whole),
        out=np.zeros_like(by_class),
        where=by_class.sum(axis=2, keepdims=True) > 0,
    )
    sides = (found.before.mean, found.after.mean, found.after.tail)
    some = (brought.sum(axis=1) > 0).astype(float)
    labels = [found.result.trade.classes[name].label for name in found.kinds.classes]
    return _Sums(
        names=[*labels, WEATHER],
        boats=boats.sum(axis=1) @ some,
        value=(boats @ found.book.severity.value) @ some,
        money={name: np.einsum("ck,cks->s", each, share) for name, each in zip(FIGURES, sides, strict=True)},
    )


def _by_place(found: ScheduleExposure) -> _Sums:
    boats = found.counted.boats
    return _by_boat(found, boats.port, [name if name else UNKNOWN for name in boats.ports])


def _by_age(found: ScheduleExposure) -> _Sums:
    built = found.counted.boats.built
    years, place = np.unique(built, return_inverse=True)
    words = age_bands(pd.Series(np.where(years > 0, years, np.nan)), found.result.horizon.as_of.year)
    # From the youngest on; what is not said comes last.
    names = list(dict.fromkeys([*words[years > 0][::-1], *words[years == 0]]))
    of_year = np.array([names.index(word) for word in words], dtype=np.int32)
    return _by_boat(found, of_year[place], names)


def _by_boat(found: ScheduleExposure, segment: npt.NDArray[np.int32], names: list[str]) -> _Sums:
    """By what is kept of each boat beside what makes boats alike."""
    row, group = found.priced.row, found.priced.group

    def summed(values: FloatArray) -> FloatArray:
        return np.bincount(segment, values, len(names)).astype(float)

    money = {name: summed(each[row, group]) for name, each in each_boat(found).items()}
    return _Sums(names, summed(np.ones(len(segment))), summed(found.counted.boats.value / 1000.0), money)
