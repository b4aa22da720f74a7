"""What to have at hand for a season's work: parts and materials, summed over the tasks of its calendar."""

from __future__ import annotations

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.season.calendar import BEFORE_USE
from riskmodel.risk import Assessment

COLUMNS = ("material", "low", "high", "unit", "need_by", "used_for", "note")


def season_materials(tasks: pd.DataFrame, result: Assessment) -> pd.DataFrame:
    """One row a part or material (COLUMNS): how much the ``tasks`` of a season's calendar take, low and high, by when
    the first of it is needed, and the parts it is for.

    A row of several like parts takes as many times as much, but where one of them is a defect to mend. What the trade
    lists no material for is not in it.
    """
    listed: dict[tuple[str, str], list[int]] = {}
    for place, each in enumerate(result.trade.materials):
        listed.setdefault((each.item_class, each.task), []).append(place)
    rows = []
    for task in each_row(tasks):
        number = 1.0 if task.group == BEFORE_USE else max(task.quantity, 1.0)
        for place in listed.get((task.item_class, task.task), ()):
            material = result.trade.materials[place]
            rows.append(
                {
                    "material": material.material,
                    "low": material.low * (number if material.per == "part" else 1.0),
                    "high": material.high * (number if material.per == "part" else 1.0),
                    "per": material.per,
                    "unit": material.unit,
                    "need_by": task.due,
                    "used_for": result.trade.classes[task.item_class].label,
                    "note": material.note,
                }
            )
    frame = pd.DataFrame(rows, columns=[*COLUMNS, "per"])
    if frame.empty:
        return frame[list(COLUMNS)]
    # One lot for the whole boat is not multiplied by the parts it serves.
    frame = frame[(frame["per"] == "part") | ~frame["material"].duplicated()]
    summed = frame.groupby(["material", "unit"], sort=False, as_index=False).agg(
        {"low": "sum", "high": "sum", "need_by": "min", "used_for": _each_once, "note": _each_once}
    )
    return summed.sort_values(["need_by", "material"], kind="stable", ignore_index=True)[list(COLUMNS)]


def _each_once(words: pd.Series) -> str:
    return "; ".join(dict.fromkeys(word for word in words if word))
