"""What each task on each part would avert and cost, and which one is worth most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.frames import places_by
from riskmodel.risk.haul_out import ashore_anyway, haul_out_costs
from riskmodel.risk.looking import look_plans
from riskmodel.trade import ItemClass, Task, Trade, task_cost


@dataclass(frozen=True)
class Benefits:
    """Loss averted (items, DRAWS) by a renewal today, and by a look or test today that finds all there is to find."""

    renew: FloatArray
    look: FloatArray


# Of a fleet without a part left: no task, in columns of their own kinds.
NO_TASKS = {"item": "intp", "task": "object", "does": "object", "skill": "object"}
NO_TASKS |= {"looks": "int64", "finds": "float64", "work": "float64", "out_of_water": "bool"}


@dataclass(frozen=True)
class Looking:
    """What looking buys over ``years``: ``finds`` (items, plans) of each part's class's plans (looking.look_plans), as
    a share of what a perfect look today would avert."""

    years: float
    finds: FloatArray


def candidate_tasks(
    items: pd.DataFrame,
    where: pd.DataFrame,
    vessels: pd.DataFrame,
    hauled: frozenset[str],
    trade: Trade,
    looking: Looking,
) -> pd.DataFrame:
    """Every task that could be done on every part: ``item, task, does, looks, finds, cost, out_of_water``.

    A look is offered once today, and as a plan of ``looks`` over the horizon where ``looking`` holds one; renewal has
    1. ``finds`` is the share that it averts of what there is to avert: 1 for a renewal, for looks of what a perfect
    look today would avert. ``cost`` is that of all the looks, each with a haul-out where it needs one and the boat is
    not ashore anyway. Renewal of what a look finds is not in it: that part's time had come with or without the look.
    """
    # Of several like parts only the one found bad is a defect to mend; elsewhere each is worked on.
    number = np.where(where["defect"] != "", 1.0, np.maximum(items["quantity"].to_numpy(dtype=float), 1.0))
    boats = vessels.set_index("vessel_id")
    lengths = items["vessel_id"].map(boats["length_m"]).to_numpy(dtype=float)
    ashore = ashore_anyway(items["vessel_id"], boats["kept"], hauled)
    haul_out = haul_out_costs(lengths, trade)
    frames = [
        _of_task(choice, items.iloc[place], place, lengths[place], number[place])
        for name, place in places_by(items["item_class"]).items()
        for choice in _choices(trade.classes[name], place, looking)
    ]
    tasks = pd.concat(frames or [pd.DataFrame(columns=list(NO_TASKS)).astype(NO_TASKS)], ignore_index=True)
    alone = tasks["out_of_water"].to_numpy() & ~ashore[tasks["item"]]
    tasks["haul_out"] = np.where(alone, haul_out[tasks["item"]] * tasks["looks"], 0.0)
    tasks["cost"] = tasks["work"] + tasks["haul_out"]
    return tasks


def choose_tasks(
    tasks: pd.DataFrame, benefits: Benefits, must_renew: npt.NDArray[np.bool_]
) -> tuple[pd.DataFrame, FloatArray]:
    """The best task of each part, in the parts' order, and what it averts draw by draw (items, DRAWS).

    Best is the most loss averted less its cost; where nothing pays, the most averted per unit of cost: once today
    or a plan of looks, whichever is worth more, stands against renewal over the same horizon. Parts in
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
    best["look_value"] = _look_value(scored, best, net[allowed])
    chosen = np.where((best["does"] == "renew").to_numpy()[:, None], benefits.renew, benefits.look)
    return best, best["finds"].to_numpy()[:, None] * chosen


def _look_value(scored: pd.DataFrame, best: pd.DataFrame, net: FloatArray) -> FloatArray:
    """What being able to look first is worth (items,): the chosen look's net worth over the better of renewing now and
    of leaving it; 0 where a look is not chosen, or does not pay."""
    by_look = (scored["does"] != "renew").to_numpy()
    others = pd.Series(np.where(by_look, 0.0, net)).groupby(scored["item"].to_numpy()).max().clip(lower=0.0)
    own = (best["averted"] - best["cost"]).to_numpy()
    gained = own - others.reindex(best.index).fillna(0.0).to_numpy()
    value: FloatArray = np.where((best["does"] != "renew").to_numpy(), np.maximum(gained, 0.0), 0.0)
    return value


def _choices(
    item_class: ItemClass, place: npt.NDArray[np.intp], looking: Looking
) -> list[tuple[Task, int, FloatArray]]:
    """Tasks on parts of one class, how many looks each is, and ``finds`` (n,)."""
    ones = np.ones(len(place))
    choices = [(task, 1, ones) for task in item_class.tasks if task.does == "renew"]
    plans = look_plans(item_class, looking.years)
    return choices + [
        (plan.task, plan.looks, looking.finds[place, column]) for column, plan in enumerate(plans)
    ]


def _of_task(
    choice: tuple[Task, int, FloatArray],
    items: pd.DataFrame,
    place: npt.NDArray[np.intp],
    lengths: FloatArray,
    number: FloatArray,
) -> pd.DataFrame:
    """One task on every part of its class, ``number`` (n,) of them in a row of the table."""
    task, looks, finds = choice
    low, high = np.array([task_cost(task, length) for length in lengths]).T
    work = looks * number * 0.5 * (low + high)
    if task.does == "renew":
        own = items["renew_cost"].to_numpy(dtype=float)
        work = np.where(np.isfinite(own), own, work)
    return pd.DataFrame(
        {
            "item": place,
            "task": task.task,
            "does": task.does,
            "skill": task.skill,
            "looks": looks,
            "finds": finds,
            "work": work,
            "out_of_water": task.out_of_water,
        }
    )
