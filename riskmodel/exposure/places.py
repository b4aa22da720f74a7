"""What boats of one place share: a year there is a usual one or has one bad spell, and so it is for all of them.

Spells exclude one another in a year. Places are independent given a draw, boats given their place's year. Every
chance is what the assessment gave, averaged over the years of the place: a spell moves losses together, not the mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book, boat_counts
from riskmodel.exposure.place_names import places_named

PLACE = "home_port"
Rows = npt.NDArray[np.intp]
# What is worked on between stays small beside what is kept.
ROWS_AT_ONCE = 256


@dataclass(frozen=True, eq=False)
class Spells:
    """What may befall the places of a book: spells ``names`` (S), how ``often`` (S, D) each comes to a place by draw.

    ``together``: rows of each place that hold more than one boat; ``rises`` (S, m, K, D): how many times as high the
    hazard of an end state is in a year with the spell, at least 1, for the m rows of ``together`` one after the other.
    """

    names: tuple[str, ...]
    often: FloatArray
    together: tuple[Rows, ...]
    rises: FloatArray

    def places(self, book: Book) -> Places:
        """The same spells for a book of the same boats and end states, whatever its chances."""
        rows = np.concatenate(self.together)
        years = np.concatenate([1.0 - self.often.sum(axis=0, keepdims=True), self.often])
        touched = (self.rises > 1.0).max(axis=(0, 1, 3))
        groups = [group for group in book.groups if touched[list(group)].any()]
        states = tuple(state for group in groups for state in group)
        times = np.empty((len(years), len(rows), len(states), years.shape[1]))
        filled = 0
        for group in groups:
            mine, here = list(group), slice(filled, filled + len(group))
            for start in range(0, len(rows), ROWS_AT_ONCE):
                some = slice(start, start + ROWS_AT_ONCE)
                chance, rises = book.chance[rows[some]][:, mine], self.rises[:, some][:, :, mine]
                times[:, some, here] = _times(chance, rises, years)
            filled = here.stop
        member = np.full(book.rows, -1, dtype=np.intp)
        member[rows] = np.arange(len(rows))
        return Places(years, self.together, states, times, member)


@dataclass(frozen=True, eq=False)
class Places:
    """The years a place may have, a usual one first, with chances ``years`` (Y, D) by draw.

    ``together``: rows of each place. ``times`` (Y, m, k, D): by what chances of the end states ``states`` (k) of a row
    are multiplied in each year, mean 1 over the years; ``member`` (n,): a row's place among the m, -1 for a boat by
    itself.
    """

    years: FloatArray
    together: tuple[Rows, ...]
    states: tuple[int, ...]
    times: FloatArray
    member: Rows

    @property
    def alone(self) -> Rows:
        """Rows of boats by themselves."""
        return np.flatnonzero(self.member < 0)

    def touches(self, group: Sequence[int]) -> bool:
        """Whether any spell changes chances of these end states, which exclude each other."""
        return bool(group) and group[0] in self.states

    def of(self, row: int, year: int, group: Sequence[int]) -> FloatArray:
        """(D, k) by what a row's chances of such end states are multiplied in a year."""
        column = [self.states.index(state) for state in group]
        found: FloatArray = self.times[year, self.member[row], column].T
        return found


def rows_together(vessels: pd.DataFrame) -> tuple[Rows, ...]:
    """Rows of each place with more than one boat; a boat that does not say where it lies is by itself."""
    port = places_named(vessels[PLACE]).to_numpy()
    frame = pd.DataFrame({"place": port, "boats": boat_counts(vessels)})[port != ""]
    found = [
        rows.index.to_numpy(dtype=np.intp)
        for _, rows in frame.groupby("place", sort=True)
        if rows["boats"].sum() > 1
    ]
    return tuple(found)


def _times(chance: FloatArray, rises: FloatArray, years: FloatArray) -> FloatArray:
    """(Y, m, k, D) factors of mean 1 on chances (m, k, D) of end states that exclude each other.

    Each year's chances follow from hazards raised by ``rises`` (S, m, k, D), and are then all scaled by one number, so
    that their mean over the years is the chance given. Where that would bring the states of a year over certainty,
    they rise together instead: a chance that is all but sure leaves no room for one of them to rise alone.
    """
    whole = chance.sum(axis=1, keepdims=True)
    hazard = -np.log1p(-np.minimum(whole, 1.0 - 1e-12))
    share = np.divide(chance, whole, out=np.zeros_like(chance), where=whole > 0)
    raised = rises * (share * hazard)
    summed = raised.sum(axis=2, keepdims=True)
    reached = -np.expm1(-summed)
    struck = raised * np.divide(reached, summed, out=np.ones_like(summed), where=summed > 0)
    each = _of_mean_one(np.divide(struck, chance, out=np.ones_like(struck), where=chance > 0), years)
    over = (each * chance).sum(axis=2, keepdims=True).max(axis=0) > 1.0
    if not over.any():
        return each
    together = _of_mean_one(np.divide(reached, whole, out=np.ones_like(reached), where=whole > 0), years)
    return np.where(over, together, each)


def _of_mean_one(times: FloatArray, years: FloatArray) -> FloatArray:
    """Factors of spells (S, m, k, D), at least 1, with the usual year's before them, scaled to mean 1 over years."""
    whole = np.concatenate([np.ones((1, *times.shape[1:])), np.maximum(times, 1.0)])
    found: FloatArray = whole / np.einsum("yd,ymkd->mkd", years, whole)
    return found
