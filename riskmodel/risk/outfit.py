"""Gives every boat without an item list the typical outfit of its kind, length and build year."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.trade import Trade, typical_outfit
from riskmodel.words import counted

# A class is usual on a kind of boat that carries at least this many on average (judgement).
USUAL = 0.8


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
        for name, quantity in _usual_outfit(trade, vessel).items()
    ]
    assumed = pd.DataFrame(rows, columns=["item_id", "vessel_id", "item_class", "quantity"])
    both = pd.concat([listed, assumed.assign(assumed=True)], ignore_index=True)
    boats = f"{len(bare)} of {counted(len(fleet.vessels), 'boat')}"
    return _filled(both, listed), (
        f"{boats} without a list of parts: the typical outfit of the kind is assumed",
    )


def usually_carried(fleet: Fleet, trade: Trade) -> tuple[str, ...]:
    """A note on boats whose lists lack classes that most such boats carry: what is not listed is not counted."""
    listed = fleet.items.groupby("vessel_id")["item_class"].agg(set)
    missing: Counter[str] = Counter()
    boats = 0
    for vessel in fleet.vessels[fleet.vessels["vessel_id"].isin(listed.index)].to_dict("records"):
        usual = _usual_outfit(trade, vessel)
        lacking = {name for name, number in usual.items() if number >= USUAL} - listed[vessel["vessel_id"]]
        missing.update(sorted(lacking))
        boats += bool(lacking)
    if not boats:
        return ()
    most = ", ".join(trade.classes[name].label.lower() for name, _ in missing.most_common(4))
    told = f"{counted(boats, 'boat')} list fewer parts than is usual (most often no {most})"
    return (f"{told}: what is not listed is not counted, nor relied on",)


def hired(fleet: Fleet) -> tuple[str, ...]:
    """A note where boats are let: what a day out of use costs is counted in plans, and not in the ranking."""
    let = int((fleet.vessels["day_rate"] > 0).sum())
    if not let:
        return ()
    return (
        f"{counted(let, 'boat')} with a day rate: refunds for days lost count in `budget`, not in `rank`",
    )


def _usual_outfit(trade: Trade, vessel: Mapping[Hashable, Any]) -> dict[str, float]:
    built = vessel["built_year"]
    return typical_outfit(trade, vessel["propulsion"], vessel["length_m"], None if np.isnan(built) else built)


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
