"""What each task on each part would avert and cost, and which one is worth most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.frames import places_by
from riskmodel.risk.haul_out import ashore_anyway, haul_out_costs
from riskmodel.trade import Task, Trade, task_cost

LOOKING = ("inspect", "test")


@dataclass(frozen=True)
class Benefits:
    """Loss averted (items, DRAWS) by a renewal today, and by a look or test today that finds all there is to find."""

    renew: FloatArray
    look: FloatArray


def candidate_tasks(
    items: pd.DataFrame, where: pd.DataFrame, vessels: pd.DataFrame, hauled: frozenset[str], trade: Trade
) -> pd.DataFrame:
    """Every task that could be done on every part: ``item, task, does, finds, cost, out_of_water``.

    ``finds`` is the chance that it finds what is there to find (1 for a renewal). ``cost`` includes a haul-out where
    the task needs one and the boat is not ashore anyway.
    """
    # Of several like parts only the one found bad is a defect to mend; elsewhere each is worked on.
    number = np.where(where["defect"] != "", 1.0, np.maximum(items["quantity"].to_numpy(dtype=float), 1.0))
    boats = vessels.set_index("vessel_id")
    lengths = items["vessel_id"].map(boats["length_m"]).to_numpy(dtype=float)
    ashore = ashore_anyway(items["vessel_id"], boats["kept"], hauled)
    haul_out = haul_out_costs(lengths, trade)
    frames = [
        _of_task(task, items.iloc[place], place, lengths[place], number[place])
        for name, place in places_by(items["item_class"]).items()
        for task in trade.classes[name].tasks
        if task.does == "renew" or task.does in LOOKING
    ]
    tasks = pd.concat(frames, ignore_index=True)
    alone = tasks["out_of_water"].to_numpy() & ~ashore[tasks["item"]]
    tasks["haul_out"] = np.where(alone, haul_out[tasks["item"]], 0.0)
    tasks["cost"] = tasks["work"] + tasks["haul_out"]
    return tasks


def choose_tasks(
    tasks: pd.DataFrame, benefits: Benefits, must_renew: npt.NDArray[np.bool_]
) -> tuple[pd.DataFrame, FloatArray]:
    """The best task of each part, in the parts' order, and what it averts draw by draw (items, DRAWS).

    Best is the most loss averted less its cost; where nothing pays, the most averted per unit of cost. Parts in
    ``must_renew`` (known defects, age-renewed rubber past its age) are never offered a look instead.
    """
    renewal = (tasks["does"] == "renew").to_numpy()
    place = tasks["item"].to_numpy()
    whole = np.where(renewal, benefits.renew.mean(axis=1)[place], benefits.look.mean(axis=1)[place])
    averted = tasks["finds"].to_numpy() * whole
    cost = tasks["cost"].to_numpy()
    net = averted - cost
    # Below every worthwhile task, and in the order of averted per cost, stand those that do not pay.
    key = np.where(net > 0, net, averted / np.maximum(cost, 1e-9) - 1e12)
    allowed = renewal | ~must_renew[place]
    scored = tasks.assign(key=key, averted=averted)[allowed]
    best = scored.sort_values(["item", "key"], ascending=[True, False], kind="stable").drop_duplicates("item")
    best = best.set_index("item").sort_index()
    chosen = np.where((best["does"] == "renew").to_numpy()[:, None], benefits.renew, benefits.look)
    return best, best["finds"].to_numpy()[:, None] * chosen


def _of_task(
    task: Task, items: pd.DataFrame, place: npt.NDArray[np.intp], lengths: FloatArray, number: FloatArray
) -> pd.DataFrame:
    """One task on every part of its class, ``number`` (n,) of them in a row of the table."""
    low, high = np.array([task_cost(task, length) for length in lengths]).T
    work = number * 0.5 * (low + high)
    if task.does == "renew":
        own = items["renew_cost"].to_numpy(dtype=float)
        work = np.where(np.isfinite(own), own, work)
    return pd.DataFrame(
        {
            "item": place,
            "task": task.task,
            "does": task.does,
            "skill": task.skill,
            "finds": _finds(task),
            "work": work,
            "out_of_water": task.out_of_water,
        }
    )


def _finds(task: Task) -> float:
    if task.does == "renew":
        return 1.0
    return 0.5 * ((task.detection_low or 0.0) + (task.detection_high or 0.0))
