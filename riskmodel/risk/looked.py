"""The clean looks on record at each part in service, and what they may have missed."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.fleet import Fleet
from riskmodel.life.looks import DETECTION_NODES, MOST_LOOKS, Looks, detection_nodes
from riskmodel.trade import ItemClass
from riskmodel.units import DAYS_PER_YEAR

LOOKS = ("inspected", "tested", "adjusted")
# A look whose thoroughness nobody wrote is taken as the slightest (judgement).
UNWRITTEN = "glanced"


def clean_looks(fleet: Fleet, installed: pd.Series) -> pd.DataFrame:
    """Sound looks at the parts now in service: ``item_id, ago`` (years before the day), ``thoroughness``.

    ``installed``: per item_id, the day the part in service may first have been there (NaT unknown). The latest
    MOST_LOOKS of each part are kept.
    """
    records = fleet.records
    sound = records[
        records["event"].isin(LOOKS) & (records["finding"] == "sound") & (records["item_id"] != "")
    ]
    start = sound["item_id"].map(installed)
    sound = sound[start.isna() | (sound["date"] >= start)]
    looks = pd.DataFrame({"item_id": sound["item_id"], "thoroughness": sound["thoroughness"]})
    looks["ago"] = (pd.Timestamp(fleet.as_of) - sound["date"]).dt.days / DAYS_PER_YEAR
    looks["thoroughness"] = looks["thoroughness"].where(looks["thoroughness"] != "", UNWRITTEN)
    looks = looks.sort_values(["item_id", "ago"], ascending=[True, False], kind="stable")
    return looks.groupby("item_id").tail(MOST_LOOKS).reset_index(drop=True)


def looks_of_class(
    item_class: ItemClass, item_ids: pd.Series, looks: pd.DataFrame, oldest: FloatArray
) -> Looks | None:
    """Looks at the parts ``item_ids`` of one class, as ages counted back from today; None where none can matter.

    ``oldest`` (n,): looks longer ago than this (years) are left out: no warning window reaches so far. In the answer
    ``age`` is minus the years ago, for the caller to add today's age to.
    """
    # A look at a part of another class has no reach here, and drops out.
    reach = looks["item_id"].map(dict(zip(item_ids, oldest, strict=True)))
    mine = looks[looks["ago"] < reach]
    if mine.empty:
        return None
    row = mine["item_id"].map({item: place for place, item in enumerate(item_ids)}).to_numpy()
    column = mine.groupby("item_id").cumcount(ascending=False).to_numpy()
    width = int(column.max()) + 1
    age = np.full((len(item_ids), width), -np.inf)
    miss = np.ones((len(item_ids), width, DETECTION_NODES))
    # The latest look stands last; parts with fewer looks are empty at the front.
    place = width - 1 - column
    age[row, place] = -mine["ago"].to_numpy()
    levels = _misses(item_class.detection)
    miss[row, place] = np.stack([levels[word] for word in mine["thoroughness"]])
    return Looks(age, miss)


def _misses(detection: Mapping[str, tuple[float, float]]) -> dict[str, FloatArray]:
    return {word: 1.0 - detection_nodes(low, high) for word, (low, high) in detection.items()}
