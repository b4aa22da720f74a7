"""Chances of parts by their age alone: a table for parts that nobody has looked at, of any number of boats.

Where millions of parts are counted by class and age, each count needs one chance, and boats whose surroundings and use
are alike share them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.life import Life
from riskmodel.risk.chances import Parameters, chance_of_any, chance_of_one, match_mean, one_of
from riskmodel.risk.class_risk import TINY, plain_and_mean
from riskmodel.risk.parts import Parts, as_new, as_tested, pick
from riskmodel.risk.working import mean_working, not_working

Gathered = tuple[Parts, Parts, FloatArray]


@dataclass(frozen=True, eq=False)
class ByAge:
    """One class by surroundings and use (s kinds of them, into which ``like`` (n,) points for each row) and by age.

    ``chance`` (s, a, DRAWS): that one part lets go over the horizon. ``dead`` and ``dead_tested`` (s, a, DRAWS): that
    it does not work, averaged over the horizon, as it is and after a perfect test today; None but for barriers.
    """

    like: npt.NDArray[np.intp]
    chance: FloatArray
    dead: FloatArray | None
    dead_tested: FloatArray | None

    def mixed(self, values: FloatArray, weights: FloatArray) -> FloatArray:
        """(n, DRAWS) means of ``values`` (s, a, DRAWS) over the ages of each row, ``weights`` (n, a)."""
        found = np.empty((len(weights), values.shape[2]))
        for each in np.unique(self.like):
            here = self.like == each
            found[here] = weights[here] @ values[each]
        return found


@dataclass(frozen=True, eq=False)
class Alike:
    """Parts of one class, those of a fleet that nothing tells apart as one: ``like`` (n,) points for each row.

    ``chance`` (u, DRAWS) and, of barriers, ``dead`` and ``dead_tested`` (u, DRAWS): as ClassRisk's ``drawn`` and
    Readiness have them, of all parts of such a row together. ``chance_renewed`` and ``dead_renewed``: the same after
    renewal today, never worse for the chance.
    """

    like: npt.NDArray[np.intp]
    chance: FloatArray
    chance_renewed: FloatArray
    dead: FloatArray | None = None
    dead_tested: FloatArray | None = None
    dead_renewed: FloatArray | None = None


def alike(gathered: Gathered, life: Life, parameters: Parameters, years: float) -> Alike:
    """The chances of parts on which there is no record, over ``years``, of a class that fails in the open."""
    like, first = _told_apart(gathered[0])
    middle, by_draw = (pick(parts, first) for parts in gathered[:2])
    horizon = np.full(len(first), years)
    plain, mean = plain_and_mean((middle, by_draw, gathered[2]), life, parameters, horizon)
    fresh = chance_of_any(chance_of_one(as_new(by_draw), parameters, horizon), by_draw.quantity)
    drawn = match_mean(plain, mean)
    return Alike(like, drawn, drawn * np.minimum(fresh / np.maximum(plain, TINY), 1.0))


def barriers_alike(gathered: Gathered, life: Life, parameters: Parameters, years: float) -> Alike:
    """The same for a class that stands against what others bring about."""
    found = alike(gathered, life, parameters, years)
    parts = pick(gathered[1], _told_apart(gathered[0])[1])
    horizon = np.full(len(parts.age), years)
    dead, tested, renewed = (
        not_working(mean_working(some, parameters, horizon), parts.quantity)
        for some in (parts, as_tested(parts), as_new(parts))
    )
    return replace(found, dead=dead, dead_tested=tested, dead_renewed=renewed)


def by_age(gathered: Gathered, life: Life, parameters: Parameters, ages: FloatArray, years: float) -> ByAge:
    """The table of a class that fails in the open, at ``ages`` (a,) [years], over ``years``.

    Means over the draws are held where rows have as many parts as they say.
    """
    like, first = _alike(gathered[0])
    table = _aged(gathered, first, ages)
    plain, mean = plain_and_mean(table, life, parameters, np.full(len(table[0].age), years))
    chance = one_of(match_mean(plain, mean), table[0].quantity).reshape(len(first), len(ages), -1)
    return ByAge(like, chance, None, None)


def barrier_by_age(
    gathered: Gathered, life: Life, parameters: Parameters, ages: FloatArray, years: float
) -> ByAge:
    """The same for a class that stands against what others bring about."""
    found = by_age(gathered, life, parameters, ages, years)
    first = _alike(gathered[0])[1]
    parts = _aged(gathered, first, ages)[1]
    horizon = np.full(len(parts.age), years)
    dead, tested = (
        (1.0 - mean_working(some, parameters, horizon)).reshape(found.chance.shape)
        for some in (parts, as_tested(parts))
    )
    return replace(found, dead=dead, dead_tested=tested)


def _alike(parts: Parts) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Which rows share surroundings, yearly hours and number of parts, and the first of each."""
    return _distinct([parts.kind, parts.rate, parts.quantity])


def _told_apart(parts: Parts) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Which rows nothing tells apart, and the first of each."""
    known = [parts.kind, parts.rate, parts.cell, parts.quantity, parts.age, parts.hours, parts.unmetered]
    return _distinct([*known, np.where(np.isnan(parts.gap), -1.0, parts.gap)])


def _distinct(columns: list[npt.NDArray[Any]]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    _, first, like = np.unique(np.column_stack(columns), axis=0, return_index=True, return_inverse=True)
    return like.ravel().astype(np.intp), first.astype(np.intp)


def _aged(gathered: Gathered, first: npt.NDArray[np.intp], ages: FloatArray) -> Gathered:
    """One part of every kind at every age: nothing known of it since it was new."""
    middle, by_draw, pace_sd = gathered
    age = np.tile(ages, len(first))
    kind, rate = np.repeat(middle.kind[first], len(ages)), np.repeat(middle.rate[first], len(ages))
    unseen = np.isnan(middle.gap).any() or (middle.gap > 0).any()
    quantity = np.repeat(middle.quantity[first], len(ages))
    nothing, ones, nowhere = np.zeros(len(age)), np.ones(len(age)), np.full(len(age), -1)
    # What fails unseen may have done so on any day since.
    start, gap = (nothing, age) if unseen else (age, nothing)
    both = [
        replace(
            each,
            age=start,
            gap=gap,
            quantity=quantity,
            cell=nowhere,
            kind=kind,
            reach=ones,
            looks=None,
            lot=nowhere,
            hours=nothing,
            unmetered=age,
            rate=rate,
        )
        for each in (middle, by_draw)
    ]
    return both[0], both[1], pace_sd
