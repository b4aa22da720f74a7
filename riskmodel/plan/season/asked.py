"""The look that a part asks for over and above its routine: found suspect, over a limit, or worth its cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from riskmodel.consequence import barrier_needs
from riskmodel.plan.budget.floors import sinking_limit
from riskmodel.plan.season.dates import SeasonDates
from riskmodel.risk import Assessment
from riskmodel.risk.looking import LOOKING, mean_detection
from riskmodel.risk.ranking import CAN_KILL, MONEY
from riskmodel.trade import Task
from riskmodel.words import about_in

SUSPECT = "suspect"


@dataclass(frozen=True)
class Asked:
    """A look, the day by which it is asked for, why, and whether the boat waits for it (``first``)."""

    task: Task
    day: date
    why: str
    first: bool


def suspects(result: Assessment) -> dict[str, date]:
    """By item_id, the day on which a part now in service was last found suspect, nothing being known of it since."""
    found = result.standing[result.standing["found"] == SUSPECT]
    return {
        item: day.date()
        for item, day in zip(found["item_id"], found["looked_on"], strict=True)
        if pd.notna(day)
    }


def asked_of(row: Any, suspect: date | None, result: Assessment, dates: SeasonDates) -> Asked | None:
    """The look that a part (row of the ranking) asks for; None where routine is enough.

    What is on a path that sinks or kills does not wait for the first trip where the boat lies afloat before: nobody
    need be aboard for it to sink or drag.
    """
    grave = on_a_path(row, result)
    over = _over_a_limit(row, result) if row.task_does in LOOKING or suspect else ""
    pays = row.group == MONEY and row.loss_averted > row.task_cost and row.task_does in LOOKING
    if not (suspect or over or pays):
        return None
    tasks = result.trade.classes[row.item_class].tasks
    task = next((each for each in tasks if each.task == row.best_task), None)
    if suspect or task is None:
        task = closest_look(tasks, dates)
    closer = "look closely, opened where it opens" if task.does == "inspect" else "test it closely"
    said = [f"found suspect {suspect}, {closer}"] if suspect else []
    said += [over] if over else []
    day = dates.soon if grave or suspect else dates.first_trip
    first = grave and bool(suspect or over) and day < dates.first_trip
    return Asked(task, day, ", ".join(said) or "averts more loss than it costs", first)


def on_a_path(row: Any, result: Assessment) -> bool:
    """Whether a part may bring about a sinking or what can kill (loss of holding too), or stands against that."""
    return bool(
        row.sinking_probability > 0
        or row.kill_probability > 0
        or row.item_class in barrier_needs(result.trade)
    )


def closest_look(tasks: Sequence[Task], dates: SeasonDates) -> Task:
    """Of a class's looks and tests the likeliest to find what is there, of those that need no lift if there are any."""
    looks = [each for each in tasks if each.does in LOOKING]
    return max(looks, key=lambda each: (dates.dry or not each.out_of_water, mean_detection(each)))


def _over_a_limit(row: Any, result: Assessment) -> str:
    if row.group == CAN_KILL:
        return f"can kill: {about_in(row.kill_probability)}"
    if row.sinking_probability > sinking_limit(result):
        return f"can sink the boat: {about_in(row.sinking_probability)}"
    return ""
