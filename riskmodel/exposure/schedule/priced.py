"""A schedule as a book: its kinds' chances gathered by what a loss costs, so that a few hundred rows are all its boats.

Boats of one row cost alike and are taken to have one chance, the mean of theirs in every draw: means are kept in every
draw, and the spread that chance makes of a year is a little too wide, which ``widened`` tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import vessel_losses
from riskmodel.exposure.book import BOATS, Book, drawn_prices, exclusive_groups
from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.exposure.schedule.reading import Counted
from riskmodel.exposure.schedule.risks import KindRisks
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.exposure.severities import severities
from riskmodel.fleet.schema import read_schema
from riskmodel.fleet.windows import typed_frame
from riskmodel.risk.draws import Draws
from riskmodel.risk.outcomes import UNDERFLOW
from riskmodel.trade import Trade


@dataclass(frozen=True, eq=False)
class PricedBook:
    """``book``: one row for each group of boats that cost alike, those of the schedule's groups that are ``used``.

    ``boats`` (rows of Kinds, rows of the book): how many. ``row`` and ``group`` (n,): those of each boat. ``ranked``:
    what the boats' losses add up to where total losses do not exclude each other [currency]. ``widened``: by how much
    the spread of chances within a row raises the variance of a year [currency squared].
    """

    book: Book
    used: IntArray
    boats: IntArray
    row: npt.NDArray[np.int32]
    group: npt.NDArray[np.int32]
    ranked: float
    widened: float


def priced_book(counted: Counted, kinds: Kinds, risks: KindRisks, tools: tuple[Trade, int]) -> PricedBook:
    """The book of a schedule whose kinds have these risks."""
    trade, seed = tools
    row = _rows(counted, kinds)
    used, group = np.unique(counted.boats.priced, return_inverse=True)
    boats = _boats((row, group), (len(kinds.kind), len(used)))
    vessels = _vessels(counted.boats.money.means.iloc[used].reset_index(drop=True), boats.sum(axis=0))
    losses = vessel_losses(vessels, trade)
    losses = losses[losses["end_state"].isin(risks.states)]
    price = drawn_prices(Draws(seed), losses, risks.states)
    chance, mean = _chances_and_losses(boats / boats.sum(axis=0), risks, price)
    value = vessels["value"].to_numpy(dtype=float)
    book = Book(
        vessels=vessels,
        states=risks.states,
        groups=exclusive_groups(risks.states),
        chance=chance,
        severity=severities(mean, losses, value, trade),
    )
    ranked = float(((boats.T @ risks.priced) * price.mean(axis=2)).sum())
    return PricedBook(
        book=book,
        used=used.astype(np.int64),
        boats=boats,
        row=row,
        group=group.astype(np.int32),
        ranked=ranked,
        widened=_widened(boats, risks, chance, mean),
    )


def _rows(counted: Counted, kinds: Kinds) -> npt.NDArray[np.int32]:
    """(n,) the row of Kinds of each boat."""
    row = np.full((len(counted.boats.kinds.boats), 2), -1, dtype=np.int32)
    row[kinds.kind, kinds.listed.astype(np.intp)] = np.arange(len(kinds.kind))
    found: npt.NDArray[np.int32] = row[counted.boats.kind, counted.listed.astype(np.int8)]
    return found


def _boats(of: tuple[npt.NDArray[Any], npt.NDArray[Any]], shape: tuple[int, int]) -> IntArray:
    """(rows of Kinds, groups) how many boats are both."""
    row, group = of
    place = row.astype(np.int64) * shape[1] + group
    return np.bincount(place, minlength=shape[0] * shape[1]).reshape(shape)


def _vessels(means: pd.DataFrame, boats: IntArray) -> pd.DataFrame:
    """A vessels frame of one row a group: its means, its boats, and nothing else said."""
    schema = read_schema("vessels")
    values: dict[str, Any] = {
        "vessel_id": np.array([f"group {row}" for row in range(len(means))], dtype=object)
    }
    for name in means.columns:
        dated = any(field.name == name and field.type == "date" for field in schema.fields)
        values[name] = _days(means[name].to_numpy(dtype=float)) if dated else means[name].to_numpy()
    # Nothing of a policy's days rests on where a boat is kept while no periods are told.
    values["kept"] = np.full(len(means), "afloat", dtype=object)
    frame = typed_frame(schema, values, np.arange(len(means), dtype=np.int64))
    return frame.assign(**{BOATS: boats})


def _days(since: FloatArray) -> npt.NDArray[np.datetime64]:
    days = np.full(len(since), "NaT", dtype="datetime64[D]")
    known = ~np.isnan(since)
    days[known] = np.rint(since[known]).astype(np.int64).astype("datetime64[D]")
    return days


def _chances_and_losses(
    weight: FloatArray, risks: KindRisks, price: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """(groups, K, DRAWS) the mean chance of a group's boats, and the mean of one of their losses.

    ``weight`` (rows of Kinds, groups): each row's share of a group. A row's losses have the price, uncorrelated with
    its chance, times its growth; where there is no chance, the price.
    """
    chance, mean = np.empty_like(price), price.copy()
    for place, name in enumerate(risks.states):
        mine, growth, of_draw = risks.chance(place), risks.growth.get(name), price[:, place]
        alone = risks.alone[:, place] if growth is None else risks.alone[:, place] * growth
        # Drawn together by chance alone: one number a row and group keeps the mean loss what `rank` says.
        together = alone @ of_draw.T / alone.shape[1]
        wanted = risks.priced[:, place, None] * of_draw.mean(axis=1)
        scale = np.divide(wanted, together, out=np.ones_like(wanted), where=together > UNDERFLOW)
        chance[:, place] = weight.T @ mine
        grown = (weight * scale).T @ (mine if growth is None else mine * growth)
        some = chance[:, place] > UNDERFLOW
        mean[:, place] *= np.divide(grown, chance[:, place], out=np.ones_like(grown), where=some)
    return chance, mean


def _widened(boats: IntArray, risks: KindRisks, chance: FloatArray, mean: FloatArray) -> float:
    """Mean over draws of the sum over boats of (sum of (p - mean p) E[X] over end states that exclude each other)^2: by
    that much a year of boats with unequal chances varies less than one of boats with their mean."""
    weight, number = boats / boats.sum(axis=0), boats.sum(axis=0)
    found = 0.0
    for group in exclusive_groups(risks.states):
        square = np.zeros((len(number), chance.shape[2]))
        for one, other in combinations_with_replacement(group, 2):
            both = weight.T @ (risks.chance(one) * risks.chance(other)) - chance[:, one] * chance[:, other]
            square += (1.0 if one == other else 2.0) * both * mean[:, one] * mean[:, other]
        found += float(number @ np.maximum(square, 0.0).mean(axis=1))
    return found
