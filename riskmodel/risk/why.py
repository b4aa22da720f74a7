"""Why a part stands where it stands, in one short line."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.frames import each_row
from riskmodel.life.seed import Seed
from riskmodel.risk.lives import Lives


def reasons(fleet: Fleet, where: pd.DataFrame, frame: pd.DataFrame, lives: Lives) -> list[str]:
    """One line a part: defect, age against the renewal age, last look, and what its boat adds."""
    makers = fleet.items["maker_interval_years"].to_numpy(dtype=float)
    boats = fleet.vessels.set_index("vessel_id")
    days = fleet.items["vessel_id"].map(boats["checked_every_days"]).to_numpy(dtype=float)
    lines = []
    sinking = frame["sinking_probability"].to_numpy() > 0
    columns = zip(each_row(where), fleet.items["item_class"], sinking, strict=True)
    for place, (row, item_class, sinks) in enumerate(columns):
        age = _age(row, makers[place], _published(lives.seeds[item_class]))
        said = [str(row.defect), age, _looked(row), f"boat seen every {days[place]:g} days" if sinks else ""]
        lines.append("; ".join(part for part in said if part))
    return lines


def _published(seed: Seed) -> float:
    """The trade's renewal age, years; NaN where no interval of it is one to renew by, but only a usual life."""
    published = any(interval.meaning == "renew_by" for interval in seed.intervals)
    return seed.upkeep.renewal_age if published else np.nan


def _age(row: Any, maker: float, trade_age: float) -> str:
    against = "no renewal age is published"
    if np.isfinite(maker):
        against = f"maker renews at {maker:g} y"
    elif np.isfinite(trade_age):
        against = f"trade renews at about {trade_age:.2g} y"
    if row.age_known:
        return f"{row.age_years:.1f} y old, {against}"
    low, high = row.youngest, min(row.oldest, row.limit)
    span = f"{low:.0f} to {high:.0f} y" if low >= 1 else f"up to {high:.0f} y"
    return f"age unknown ({span}), {against}"


def _looked(row: Any) -> str:
    if not row.found or pd.isna(row.looked_on):
        return "no look on record"
    return f"last look {row.looked_on:%Y-%m}: {row.found}"
