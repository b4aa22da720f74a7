"""Small steps the physics shares: drawn quantities, a boat's own figures, shares over a limit, repeated occasions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade
from riskmodel.trade.physics import ExhaustLeak, FuelLeak

# Nothing in this trade follows for certain (judgement).
MOST = 0.95


def drawn(quantity: str, trade: Trade, cube: Hypercube) -> FloatArray:
    """(S,) draws of one quantity of the physics table, in its unit; the same quantity, the same draws."""
    row = trade.physics[quantity]
    values: FloatArray = cube.between(f"physics/{quantity}", np.array([row.low]), np.array([row.high]))[0]
    return values


def drawn_share(quantity: str, trade: Trade, cube: Hypercube) -> FloatArray:
    """(S,) draws of a quantity that is a share or a chance, held at 1."""
    values: FloatArray = np.minimum(drawn(quantity, trade, cube), 1.0)
    return values


def by_word(words: pd.Series, choices: Mapping[str, FloatArray]) -> FloatArray:
    """(n, S) of each word's (S,) draws; 0 for a word that has none."""
    drawn = next(iter(choices.values()))
    picked = np.zeros((len(words), len(drawn)))
    for word, values in choices.items():
        picked[(words == word).to_numpy()] = values
    return picked


def own_or(kinds: pd.DataFrame, column: str, default: FloatArray) -> FloatArray:
    """(n, S) of the boat's own figure in ``column``, and ``default`` (n, S) or (S,) where it is blank."""
    own = kinds[column].to_numpy(dtype=float)[:, None]
    values: FloatArray = np.where(np.isnan(own), default, own)
    return values


def at_least_once(chance: FloatArray, number: FloatArray) -> FloatArray:
    """P(at least once) in ``number`` independent occasions or people, which need not be whole and may be below 1."""
    every: FloatArray = -np.expm1(number * np.log1p(-np.minimum(chance, MOST)))
    return every


def share_over(value: FloatArray, limit: FloatArray, steepness: FloatArray) -> FloatArray:
    """Share of cases over a limit where the middle case has ``value``: log-logistic, one half at the limit.

    value^k / (value^k + limit^k): rises with ``value``, and the steeper k the more alike the cases are.
    """
    with np.errstate(over="ignore"):
        # A value of 0 is never over: the ratio is then infinite.
        against = np.divide(
            limit, value, out=np.full(np.broadcast(limit, value).shape, np.inf), where=value > 0
        )
        over: FloatArray = 1.0 / (1.0 + against**steepness)
    return over


def mode_shares(table: str, rows: Sequence[FuelLeak] | Sequence[ExhaustLeak], cube: Hypercube) -> FloatArray:
    """(modes, S) shares of the ways a class lets go, which add to 1 in every scenario."""
    drawn = np.array([leak_draws(table, row, "share", cube) for row in rows])
    shares: FloatArray = drawn / drawn.sum(axis=0) if len(rows) else drawn
    return shares


def leak_draws(table: str, row: FuelLeak | ExhaustLeak, column: str, cube: Hypercube) -> FloatArray:
    """(S,) draws of one column of a leak: from its low to its high."""
    low, high = (np.array([getattr(row, f"{column}_{end}")]) for end in ("low", "high"))
    values: FloatArray = cube.between(f"{table}/{row.item_class}/{row.mode}/{column}", low, high)[0]
    return values
