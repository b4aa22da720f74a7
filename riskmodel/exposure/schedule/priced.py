"""A schedule as a book: its kinds' chances gathered by what a loss costs, so that a few hundred rows are all its boats.

Boats of one row cost alike and are taken to have one chance, the mean of theirs in every draw: means are kept in every
draw, and the spread that chance makes of a year is a little too wide, which ``widened`` tells.
"""

from __future__ import annotations

from dataclasses import dataclass
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
from riskmodel.risk.outcomes import UNDERFLOW, uncorrelated
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
    boats = _boats(counted, (row, group), (len(kinds.kind), len(used)))
    # A group all of whose boats are left out costs nothing.
    some = boats.sum(axis=0) > 0
    used, boats, group = used[some], boats[:, some], (np.cumsum(some) - 1)[group]
    vessels = _vessels(counted.boats.money.means.iloc[used].reset_index(drop=True), boats.sum(axis=0))
    losses = vessel_losses(vessels, trade)
    losses = losses[losses["end_state"].isin(risks.states)]
    chance, alone = (_mean(boats, each) for each in (risks.chance, risks.alone))
    mean = _mean_losses(boats, risks, alone, drawn_prices(Draws(seed), losses, risks.states))
    value = vessels["value"].to_numpy(dtype=float)
    book = Book(
        vessels=vessels,
        states=risks.states,
        groups=exclusive_groups(risks.states),
        chance=chance,
        severity=severities(mean, losses, value, trade),
    )
    ranked = float((vessels[BOATS].to_numpy()[:, None] * (alone * mean).mean(axis=2)).sum())
    return PricedBook(
        book=book,
        used=used.astype(np.int64),
        boats=boats,
        row=row,
        group=group.astype(np.int32),
        ranked=ranked,
        widened=_widened(boats, risks.chance, chance, mean),
    )


def _rows(counted: Counted, kinds: Kinds) -> npt.NDArray[np.int32]:
    """(n,) the row of Kinds of each boat; -1 for kinds all of whose boats are left out."""
    row = np.full((len(counted.boats.kinds.boats), 2), -1, dtype=np.int32)
    row[kinds.kind, kinds.listed.astype(np.intp)] = np.arange(len(kinds.kind))
    found: npt.NDArray[np.int32] = row[counted.boats.kind, counted.listed.astype(np.int8)]
    return found


def _boats(
    counted: Counted, of: tuple[npt.NDArray[Any], npt.NDArray[Any]], shape: tuple[int, int]
) -> IntArray:
    """(rows of Kinds, groups) how many boats are both."""
    row, group = of
    place = row[counted.kept].astype(np.int64) * shape[1] + group[counted.kept]
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


def _mean(boats: IntArray, values: FloatArray) -> FloatArray:
    """(groups, K, DRAWS) means over boats of values by row of Kinds."""
    rows, states, draws = values.shape
    weight = boats / boats.sum(axis=0)
    found: FloatArray = (weight.T @ values.reshape(rows, -1)).reshape(-1, states, draws)
    return found


def _mean_losses(boats: IntArray, risks: KindRisks, alone: FloatArray, price: FloatArray) -> FloatArray:
    """(groups, K, DRAWS) mean of one loss: the price, uncorrelated with the chance, times its growth."""
    grown = _mean(boats, risks.alone * risks.factor)
    mean = np.empty_like(price)
    for place in range(len(risks.states)):
        some = alone[:, place] > UNDERFLOW
        plain = uncorrelated(alone[:, place], price[:, place])
        whole = np.divide(plain, alone[:, place], out=price[:, place].copy(), where=some)
        factor = np.divide(grown[:, place], alone[:, place], out=np.ones_like(whole), where=some)
        mean[:, place] = whole * factor
    return mean


def _widened(boats: IntArray, chance: FloatArray, mean_chance: FloatArray, mean_loss: FloatArray) -> float:
    """Mean over draws of the sum over boats of (p - mean p)^2 E[X]^2: by that much a year of boats with unequal chances
    varies less than one of boats with their mean."""
    square = _mean(boats, chance**2) - mean_chance**2
    number = boats.sum(axis=0)[:, None]
    return float((number * (np.maximum(square, 0.0) * mean_loss**2).mean(axis=2)).sum())
