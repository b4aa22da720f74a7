"""Gives every boat without an item list the typical outfit of its kind, length and build year."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.trade import Trade, typical_outfit
from riskmodel.words import counted


def with_typical_outfits(fleet: Fleet, trade: Trade) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Items of the fleet, each with ``assumed`` (bool), boats without any filled from the trade's typical outfit.

    Ages of assumed parts are unknown; a quantity below 1 is the share of such boats that carry the part.
    """
    listed = fleet.items.assign(assumed=False)
    bare = fleet.vessels[~fleet.vessels["vessel_id"].isin(listed["vessel_id"])]
    if bare.empty:
        return listed, ()
    rows = [
        (f"{vessel['vessel_id']}/{name}", vessel["vessel_id"], name, quantity)
        for vessel in bare.to_dict("records")
        for name, quantity in typical_outfit(
            trade, vessel["propulsion"], vessel["length_m"], vessel["built_year"]
        ).items()
    ]
    assumed = pd.DataFrame(rows, columns=["item_id", "vessel_id", "item_class", "quantity"])
    both = pd.concat([listed, assumed.assign(assumed=True)], ignore_index=True)
    boats = f"{len(bare)} of {counted(len(fleet.vessels), 'boat')}"
    return _filled(both, listed), (
        f"{boats} without a list of parts: the typical outfit of the kind is assumed",
    )


def _filled(both: pd.DataFrame, listed: pd.DataFrame) -> pd.DataFrame:
    """Empty cells of the assumed parts in the listed parts' own column types."""
    both["assumed"] = both["assumed"].astype(bool)
    for column, kind in listed.dtypes.items():
        if pd.api.types.is_datetime64_any_dtype(kind):
            both[column] = pd.to_datetime(both[column])
        elif pd.api.types.is_float_dtype(kind):
            both[column] = both[column].astype(float)
        elif pd.api.types.is_integer_dtype(kind):
            both[column] = both[column].fillna(0).astype(np.int64)
        elif column not in ("assumed",):
            both[column] = both[column].where(both[column].notna(), "")
    return both
