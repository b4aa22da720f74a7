"""A boat's year in its states: spread out for the physics, and weighed together again."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray

# What a boat's periods say of it; an area that asks for none of these has one answer for the whole horizon.
OF_THE_YEAR = ("state", "visited_every_days", "shore_power")


# States in which a boat is used; else nobody is under way, no engine runs, and only what fails at rest counts. A boat
# that lives ashore or in a rack is used from there; one laid up ashore for part of the year is not.
UNDER_WAY = ("in_use", "on_trailer")
LIVES_ASHORE = ("rack", "ashore", "trailer")


def in_use(states: pd.DataFrame) -> pd.Series:
    """Whether anybody goes out in each boat in each ``state``, by where it is ``kept``."""
    from_ashore = states["state"].eq("ashore") & states["kept"].isin(LIVES_ASHORE)
    used: pd.Series = states["state"].isin(UNDER_WAY) | from_ashore
    return used


def afloat(states: pd.DataFrame) -> pd.Series:
    """Whether each boat lies afloat in each ``state``, by where it is ``kept``; always for boats that live ashore, of
    which the trade's circumstances speak."""
    ashore = states["state"].isin(("ashore", "on_trailer"))
    wet: pd.Series = ~ashore | states["kept"].isin(LIVES_ASHORE)
    return wet


def launched(states: pd.DataFrame) -> pd.Series:
    """Whether each boat comes into the water at all in each ``state``, if only on trips: in all but a lay-up ashore."""
    wet: pd.Series = ~states["state"].eq("ashore") | states["kept"].isin(LIVES_ASHORE)
    return wet


def year_share(
    boats: pd.DataFrame, year: pd.DataFrame, holds: Callable[[pd.DataFrame], pd.Series]
) -> pd.Series:
    """Share of its ``year``, by vessel_id, in which each boat (``vessel_id, kept``) is in a state that ``holds``."""
    spent = year.merge(boats[["vessel_id", "kept"]].drop_duplicates("vessel_id"), on="vessel_id", how="left")
    share: pd.Series = (spent["share"] * holds(spent)).groupby(spent["vessel_id"]).sum()
    return share.clip(upper=1.0)


def over_states(rows: pd.DataFrame, year: pd.DataFrame) -> pd.DataFrame:
    """One row for each row and state of its boat's year, with ``item`` (the row's index) and ``share``, by item.

    ``year``: ``vessel_id, state, share, visited_every_days, shore_power``; the shares of each boat add to 1.
    """
    own = rows.drop(columns=[name for name in OF_THE_YEAR if name in rows]).assign(item=rows.index)
    spread = own.merge(year, on="vessel_id", how="left", sort=False)
    return spread.sort_values("item", kind="stable", ignore_index=True)


def summed_over_states(
    values: FloatArray, kind: npt.NDArray[np.intp], share: FloatArray, start: npt.NDArray[np.intp]
) -> FloatArray:
    """Values (kinds, ...) by item, weighed by the share of the horizon that each of its boat's states has.

    ``kind`` and ``share`` are those of the spread rows, ``start`` the place of each item's first.
    """
    if len(start) == len(kind):
        return values[kind]
    weighed = values[kind] * share.reshape(-1, *[1] * (values.ndim - 1))
    summed: FloatArray = np.add.reduceat(weighed, start, axis=0)
    return summed
