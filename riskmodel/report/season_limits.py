"""What is over a limit on one boat: its own chance of sinking, or a part's of killing; and what to do meanwhile."""

from __future__ import annotations

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.budget.floors import KILL, SINK, sinking_limit
from riskmodel.plan.budget.instead import instead_of_work, part_labels
from riskmodel.plan.season.season import ANY_SINKING, Season
from riskmodel.report.limits import over_by, whose_limits
from riskmodel.report.text import paragraph
from riskmodel.risk.ranking import CAN_KILL

HEAD = "OVER THE LIMIT"
FIRST = "Work dated {today} comes first; a later one is no leave to use the boat or leave it afloat alone."


def limits_block(season: Season) -> str:
    """The block about what is over its limit, known defects apart; empty where nothing is."""
    result = season.result
    killing = result.frame[result.frame["group"] == CAN_KILL]
    chance = float(season.totals.set_index("end_state").loc[[ANY_SINKING], "chance"].iloc[0])
    sinks = chance > sinking_limit(result)
    if killing.empty and not sinks:
        return ""
    until, labels = season.horizon.until, part_labels(result)
    said = [f"The boat sinks: {over_by(chance, sinking_limit(result), until)}."] if sinks else []
    said += [
        f"A path that can kill, {labels[row.item_id]}: {over_by(row.kill_probability, result.limit, until)}."
        for row in each_row(killing)
    ]
    status = pd.DataFrame(
        [
            {"vessel_id": season.vessel_id, "kind": kind, "item_id": item, "possible": True, "met": False}
            for kind, item in [
                *((KILL, item) for item in killing["item_id"]),
                *([(SINK, "")] if sinks else []),
            ]
        ]
    )
    advice = str(instead_of_work(status, result)["advice"].iloc[0])
    lines = [
        *said,
        f"{advice[0].upper()}{advice[1:]}.",
        FIRST.format(today=season.horizon.as_of),
        whose_limits(result),
    ]
    return "\n".join([HEAD, *(paragraph(f"- {line}", indent="  ") for line in lines)])
