"""The parts of one class in service, as arrays: what is known of their ages, surroundings, looks and lots."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.life.ages import AgeTable, age_weights
from riskmodel.life.looks import Looks, Windows
from riskmodel.life.lots import Lot

# Ages an unknown age is summed over lie so far apart: years, and as a share of the age. Against every tenth of a year
# no part of the demo's chance is off by more than 0.2 %.
FIRST_GAP, GAP = 0.4, 0.08
# Parts of unknown age are told apart no finer than this (years).
ROUNDING = 0.1


@dataclass(frozen=True)
class Parts:
    """Parts of one class in service; all times in years.

    ``age`` (n,) at which each was last known to work and ``gap`` (n,) since: 0 where failure shows itself, NaN never
    tested. ``quantity`` (n,). Where the age is unknown ``cell`` (n,) points into ``weights`` (k, 3, a) over ``ages``
    (a,); -1 elsewhere. ``kind`` (n,) points into ``speed`` (kinds, 1) or (kinds, m), the rate at which the class
    ages in each surroundings. ``reach`` (n,): factor on the horizon from a trend of readings. ``looks``: clean looks,
    ages counted back from today; ``windows``: the warning window. ``lot`` (n,) points into ``lots``, -1 for none,
    and ``lot_correction`` multiplies the hazard of parts in lots. ``hours`` (n,) that a meter tells of each part,
    ``unmetered`` (n,) years of its age that none tells of, ``rate`` (n,) hours a year with log standard deviation
    ``rate_sd``.
    """

    age: FloatArray
    gap: FloatArray
    quantity: FloatArray
    cell: npt.NDArray[np.intp]
    ages: FloatArray
    weights: FloatArray
    kind: npt.NDArray[np.intp]
    speed: FloatArray
    reach: FloatArray
    looks: Looks | None
    windows: Windows
    lot: npt.NDArray[np.intp]
    lots: tuple[Lot, ...]
    lot_correction: float
    hours: FloatArray
    unmetered: FloatArray
    rate: FloatArray
    rate_sd: float

    @property
    def looked(self) -> npt.NDArray[np.bool_]:
        """(n,) True where a clean look that can matter is on record."""
        if self.looks is None:
            return np.zeros(len(self.age), dtype=bool)
        return np.asarray(np.isfinite(self.looks.age).any(axis=1), dtype=bool)


def ages_of(standing: pd.DataFrame, table: AgeTable | None) -> tuple[FloatArray, FloatArray]:
    """``age`` and ``gap`` of Parts from standing rows (arrays (n,)); without a table every age counts as known."""
    known = standing["age_known"].to_numpy(dtype=bool) | (table is None)
    age = standing["age_years"].fillna(0.0).to_numpy(dtype=float)
    since = standing["gap_years"].to_numpy(dtype=float)
    gap = np.where(known, np.minimum(np.where(np.isnan(since), age, since), age), since)
    return age - np.where(known, gap, 0.0), gap


def unknown_ages(
    standing: pd.DataFrame, table: AgeTable | None
) -> tuple[npt.NDArray[np.intp], FloatArray, FloatArray]:
    """``cell``, ``ages`` and ``weights`` of Parts for the rows whose age is unknown."""
    known = standing["age_known"].to_numpy(dtype=bool)
    cell = np.full(len(standing), -1)
    if table is None or known.all():
        return cell, np.zeros(1), np.zeros((0, 3, 1))
    keys = standing.loc[~known, ["oldest", "youngest", "limit"]].to_numpy(dtype=float)
    kinds, place = np.unique(np.round(keys / ROUNDING) * ROUNDING, axis=0, return_inverse=True)
    cell[~known] = place.ravel()
    return cell, *_coarse(table.ages, np.stack([_weights(table, kind) for kind in kinds]))


def pick(parts: Parts, some: npt.NDArray[np.intp]) -> Parts:
    """The parts at these places."""
    looks = parts.looks
    if looks is not None:
        looks = Looks(looks.age[some], looks.miss[some])
    names = ("age", "gap", "quantity", "cell", "kind", "reach", "lot", "hours", "unmetered", "rate")
    return replace(parts, looks=looks, **{name: getattr(parts, name)[some] for name in names})


def as_new(parts: Parts) -> Parts:
    """The same parts, renewed today: new, of no lot, no looks, and a trend of readings broken off."""
    none, ones = np.zeros(len(parts.age)), np.ones(len(parts.age))
    nowhere = np.full(len(none), -1)
    new = replace(parts, age=none, gap=none, cell=nowhere, looks=None, lot=nowhere, reach=ones)
    return replace(new, hours=none, unmetered=none)


def as_tested(parts: Parts) -> Parts:
    """The same parts, known to work today: the time since is nothing, and the age is today's."""
    gap = np.where(np.isnan(parts.gap), 0.0, parts.gap)
    age = np.where(parts.cell < 0, parts.age + gap, parts.age)
    return replace(parts, age=age, gap=np.zeros(len(gap)))


def _weights(table: AgeTable, kind: FloatArray) -> FloatArray:
    oldest, youngest, limit = kind
    return age_weights(table, max(oldest, ROUNDING), min(youngest, max(oldest, ROUNDING), limit), limit)


def _coarse(ages: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Weights split between the two nodes each age lies between, so that its mean stays; nodes as far as weight lies.

    The nodes are the same whatever ages a fleet has: another boat in it moves nothing.
    """
    nodes = _age_nodes(float(ages[-1]))
    oldest = ages[int(np.flatnonzero(weights.max(axis=(0, 1)) > 0)[-1])]
    nodes = nodes[: max(int(np.searchsorted(nodes, oldest)) + 1, 2)]
    below = np.clip(np.searchsorted(nodes, ages) - 1, 0, len(nodes) - 2)
    share = np.clip((ages - nodes[below]) / np.diff(nodes)[below], 0.0, 1.0)
    split = np.zeros((len(ages), len(nodes)))
    split[np.arange(len(ages)), below] = 1.0 - share
    split[np.arange(len(ages)), below + 1] += share
    return nodes, weights @ split


@lru_cache(maxsize=4)
def _age_nodes(oldest: float) -> FloatArray:
    nodes = [0.5 * ROUNDING]
    while nodes[-1] < oldest:
        nodes.append(nodes[-1] + max(FIRST_GAP, GAP * nodes[-1]))
    return np.array(nodes)
