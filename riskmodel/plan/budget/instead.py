"""What to do with a boat that the money does not make fit: keep it ashore, or attended, until the work is done."""

from __future__ import annotations

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.budget.floors import DEFECT, KILL
from riskmodel.risk import Assessment

UNDER = "its chance of sinking is under the limit"
NO_WORK = "no work on its parts does that: a cover, closed drains or more visits may"
NOT_ENOUGH = "renewal alone is not enough: have somebody competent look"
KEEP = "keep ashore, or attended"


def instead_of_work(status: pd.DataFrame, result: Assessment) -> pd.DataFrame:
    """One row a boat with a floor that is not met: ``vessel_id``, and ``advice``.

    ``status``: Plan's floors. A boat with a known defect, or a part over the limit on a path that can kill, is not
    used meanwhile; attending to it holds off a sinking and nothing else.
    """
    names = part_labels(result)
    rows = []
    for vessel, floors in status[~status["met"]].groupby("vessel_id", sort=False):
        danger = floors["kind"].isin((DEFECT, KILL)).any()
        parts = [names[item] for item in dict.fromkeys(floors["item_id"]) if item]
        keep = f"{KEEP} (and not used)," if danger else f"{KEEP},"
        rows.append({"vessel_id": vessel, "advice": f"{keep} until {_until(floors, parts)}"})
    return pd.DataFrame(rows, columns=["vessel_id", "advice"])


def part_labels(result: Assessment) -> dict[str, str]:
    """By item_id, the class's plain name and where the part sits."""
    labels = {name: each.label for name, each in result.trade.classes.items()}
    labels = {name: label[0].lower() + label[1:] for name, label in labels.items()}
    return {
        row.item_id: labels[row.item_class] + (f" ({row.position})" if row.position else "")
        for row in each_row(result.fleet.items)
    }


def _until(floors: pd.DataFrame, parts: list[str]) -> str:
    said = [f"{'this is' if len(parts) == 1 else 'these are'} put right: {', '.join(parts)}"] if parts else []
    boat = floors[floors["item_id"] == ""]
    if len(boat):
        said.append(UNDER if boat["possible"].all() else f"{UNDER} ({NO_WORK})")
    stuck = (floors["item_id"] != "") & ~floors["possible"]
    return "; and ".join(said) + (f" ({NOT_ENOUGH})" if stuck.any() else "")
