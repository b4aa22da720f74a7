"""The order of the report: known defects, then paths that can kill, then money; with bands on every rank."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray

KNOWN_DEFECT, CAN_KILL, MONEY = "known defect", "path that can kill", "money"
ORDER = {KNOWN_DEFECT: 0, CAN_KILL: 1, MONEY: 2}
# Items counted as "at the top" for the chance of being there.
TOP = 10
WORKERS = 2


def assign_groups(defect: npt.NDArray[np.bool_], kill_probability: FloatArray, limit: float) -> pd.Series:
    """Which of the three groups each part belongs to; a defect outranks everything."""
    words = np.where(defect, KNOWN_DEFECT, np.where(kill_probability > limit, CAN_KILL, MONEY))
    return pd.Series(words)


def ranks(group: pd.Series, kill: FloatArray, averted: FloatArray, worth: FloatArray) -> FloatArray:
    """Ranks (n, m) from 1, draw by draw.

    Parameters
    ----------
    group : (n,)
        Words of ``assign_groups``; groups never mix.
    kill, averted, worth : (n, m)
        Chance of an end state that can kill, which orders the first two groups, hull value playing no part (loss
        averted only parts those that cannot kill at all); loss averted per unit of cost, which orders the rest.
    """
    result = np.empty(worth.shape)
    start = 0
    for word in ORDER:
        here = np.flatnonzero(group == word)
        keys = (worth,) if word == MONEY else (averted, kill)
        result[here] = start + 1 + _places(*(key[here] for key in keys))
        start += len(here)
    return result


def _places(*keys: FloatArray) -> npt.NDArray[np.intp]:
    """Place (n, m) of each row in each column, greatest first by the last of ``keys``; ties keep the rows' order."""
    # Single precision: what differs in the last bits of a sum is a tie. Draws run along memory: sorts are faster so.
    fallen = [np.negative(key.T, dtype=np.float32, casting="same_kind") for key in keys]
    halves = np.array_split(np.arange(fallen[0].shape[0]), WORKERS)
    with ThreadPoolExecutor(WORKERS) as pool:
        found = list(pool.map(lambda half: _columns_placed([key[half] for key in fallen]), halves))
    return np.concatenate(found).T


def _columns_placed(keys: list[npt.NDArray[np.float32]]) -> npt.NDArray[np.intp]:
    order = np.lexsort(keys, axis=-1)
    place = np.empty_like(order)
    np.put_along_axis(place, order, np.arange(order.shape[1])[None, :], axis=-1)
    return place


def rank_bands(drawn: FloatArray, mean: FloatArray, defects: int) -> pd.DataFrame:
    """``rank`` by the means (n,), ``rank_low`` and ``rank_high`` (5, 95 % of draws (n, m)), ``rank_expected`` (the
    draws' mean) and ``top_probability``.

    The top is the known ``defects`` and the TOP first parts after them.
    """
    low, high = np.quantile(drawn, [0.05, 0.95], axis=1, method="nearest")
    rank = mean.astype(int)
    return pd.DataFrame(
        {
            "rank": rank,
            "rank_low": np.minimum(low, rank).astype(int),
            "rank_high": np.maximum(high, rank).astype(int),
            "rank_expected": drawn.mean(axis=1),
            "top_probability": (drawn <= defects + TOP).mean(axis=1),
        }
    )
