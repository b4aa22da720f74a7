"""What could be done to each part: tasks side by side, with their date, cost and the loss they avert."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.plan.budget.over_life import over_life
from riskmodel.plan.budget.schedule import haul_outs
from riskmodel.risk import Assessment
from riskmodel.risk.haul_out import haul_out_costs
from riskmodel.risk.looking import LOOKING
from riskmodel.risk.outcomes import Outcomes
from riskmodel.risk.tasks import Benefits
from riskmodel.risk.worked import with_early_failures, with_refunds, worth_of_work
from riskmodel.trade import task_cost
from riskmodel.units import DAYS_PER_YEAR

NOW, LATER = "now", "next haul-out"
# End states that a drip or a weep leads to by and by; an adjustment stops these and leaves the part as old as it was.
DRIPS = ("nuisance", "machinery_damage", "structural_damage")
COLUMNS = (
    *(
        "item_id",
        "vessel_id",
        "item_class",
        "task",
        "does",
        "skill",
        "looks",
        "when",
        "date",
        "hours",
        "cost",
    ),
    *("out_of_water", "haul_out", "averted", "averted_life", "finds", "share", "item", "vessel"),
)


@dataclass(frozen=True)
class Ground:
    """What options rest on: the assessment as planning sees it (hire refunded, faults of new work charged), what work
    is worth, how things stand with nothing done, when boats are ashore (schedule.haul_outs), and what a lift of each
    costs (vessels,)."""

    result: Assessment
    benefits: Benefits
    now: Outcomes
    ashore: pd.DataFrame
    lift: FloatArray


def planning_ground(result: Assessment) -> Ground:
    """The assessment made ready for planning; see Ground."""
    priced = with_early_failures(with_refunds(result))
    benefits, now = worth_of_work(priced)
    ashore = haul_outs(result.fleet, result.learned.hauled, result.horizon.as_of)
    lengths = result.fleet.vessels["length_m"].to_numpy(dtype=float)
    return Ground(priced, benefits, now, ashore, haul_out_costs(lengths, result.trade))


def plan_options(result: Assessment, *, ground: Ground | None = None) -> pd.DataFrame:
    """Every task that could be done on every part, to compete for the same money; doing nothing has no row.

    Returns
    -------
    DataFrame
        ``item_id, vessel_id, item_class, task, does`` (renew, inspect, test, adjust), ``skill, looks``; ``when``
        ("now" or "next haul-out") and its ``date``; ``hours``; ``cost`` [currency] without the lift; ``out_of_water``,
        and ``haul_out`` where a lift has to be paid for it, once a boat; ``averted``: mean loss averted over the
        horizon, ``averted_life``: over the part's remaining life (over_life); ``finds``: as in the
        assessment's tasks; ``share``: what it does, done on its date, of what it would do today; ``item, vessel``:
        places in the fleet's tables.

    A renewal's worth has the faults of new work taken off. A look is worth what it finds, a routine what all its
    looks find; the renewal of what they find is not in their cost, for that part's time had come. Parts in
    ``must_renew`` have no look and no adjustment that could stand in for renewal; known defects are renewed now.
    """
    ground = ground or planning_ground(result)
    tasks = pd.concat([_offered(result), _adjustments(result)], ignore_index=True)
    place = tasks["item"].to_numpy()
    tasks["vessel"] = result.consequences.vessel[place]
    tasks = pd.concat([_now(tasks, ground), _at_haul_out(tasks, ground)], ignore_index=True)
    tasks["hours"] = _hours(tasks, result)
    tasks = _worth(tasks, ground)
    items = result.fleet.items.iloc[tasks["item"]].reset_index(drop=True)
    for column in ("item_id", "vessel_id", "item_class"):
        tasks[column] = items[column]
    order = ["item", "does", "task", "looks", "date"]
    ordered = tasks.sort_values(order, kind="stable", ignore_index=True)
    return ordered.loc[:, list(COLUMNS)]


def numbers(result: Assessment) -> FloatArray:
    """(items,) how many like parts a row's work is on: of several, only the one found bad is a defect to mend."""
    quantity = np.maximum(result.fleet.items["quantity"].to_numpy(dtype=float), 1.0)
    return np.where((result.standing["defect"] != "").to_numpy(), 1.0, quantity)


def _offered(result: Assessment) -> pd.DataFrame:
    """The assessment's tasks without the looks at parts that must be renewed."""
    columns = ["item", "task", "does", "skill", "looks", "finds", "work", "out_of_water"]
    renewal = (result.tasks["does"] == "renew").to_numpy()
    allowed = renewal | ~result.must_renew[result.tasks["item"].to_numpy()]
    offered: pd.DataFrame = result.tasks.loc[allowed, columns]
    return offered


def _adjustments(result: Assessment) -> pd.DataFrame:
    items, number = result.fleet.items, numbers(result)
    lengths = items["vessel_id"].map(result.fleet.vessels.set_index("vessel_id")["length_m"])
    rows = [
        (place, task, number[place] * sum(task_cost(task, float(lengths.iloc[place]))) / 2)
        for name, each in result.trade.classes.items()
        for task in each.tasks
        if task.does == "adjust"
        for place in np.flatnonzero((items["item_class"] == name).to_numpy() & ~result.must_renew)
    ]
    return pd.DataFrame(
        {
            "item": np.array([place for place, _, _ in rows], dtype=np.intp),
            "task": [task.task for _, task, _ in rows],
            "does": [task.does for _, task, _ in rows],
            "skill": [task.skill for _, task, _ in rows],
            "looks": np.ones(len(rows), dtype=int),
            "finds": np.ones(len(rows)),
            "work": np.array([work for _, _, work in rows], dtype=float),
            "out_of_water": np.array([task.out_of_water for _, task, _ in rows], dtype=bool),
        }
    )


def _now(tasks: pd.DataFrame, ground: Ground) -> pd.DataFrame:
    """Each task today; where the boat is in the water the lift is paid, for each look after the first in its cost."""
    boat = tasks["vessel"].to_numpy()
    dry = ground.ashore["out_now"].to_numpy(dtype=bool)
    yearly = ground.ashore["next_on"].notna().to_numpy() | dry
    haul_out = tasks["out_of_water"].to_numpy(dtype=bool) & ~dry[boat]
    more = np.where(haul_out & ~yearly[boat], tasks["looks"] - 1, 0) * ground.lift[boat]
    cost = tasks["work"] + more
    return tasks.assign(when=NOW, date=ground.result.horizon.as_of, haul_out=haul_out, cost=cost)


def _at_haul_out(tasks: pd.DataFrame, ground: Ground) -> pd.DataFrame:
    """Each single task out of the water once more at the boat's next time ashore within the horizon: no lift to pay."""
    horizon = ground.result.horizon
    on = ground.ashore["next_on"].iloc[tasks["vessel"]].reset_index(drop=True)
    in_time = on.map(lambda day: day is not None and horizon.as_of < day < horizon.until).to_numpy(dtype=bool)
    defect = (ground.result.standing["defect"] != "").to_numpy()[tasks["item"]]
    some = in_time & tasks["out_of_water"].to_numpy(dtype=bool) & (tasks["looks"] == 1).to_numpy() & ~defect
    later: pd.DataFrame = tasks.loc[some]
    return later.assign(when=LATER, date=on[some].to_numpy(), haul_out=False, cost=later["work"])


def _hours(tasks: pd.DataFrame, result: Assessment) -> FloatArray:
    """Hours of each row's work: the middle of the trade's, for all its looks and like parts."""
    middle = {
        (name, task.task): (task.hours_low + task.hours_high) / 2
        for name, each in result.trade.classes.items()
        for task in each.tasks
    }
    classes = result.fleet.items["item_class"].to_numpy()[tasks["item"]]
    each = np.array([middle[pair] for pair in zip(classes, tasks["task"], strict=True)], dtype=float)
    hours: FloatArray = each * tasks["looks"].to_numpy() * numbers(result)[tasks["item"]]
    return hours


def _worth(tasks: pd.DataFrame, ground: Ground) -> pd.DataFrame:
    """``averted`` over the horizon and ``averted_life``."""
    place = tasks["item"].to_numpy()
    renew, look = ground.benefits.renew.mean(axis=1), ground.benefits.look.mean(axis=1)
    does = tasks["does"].to_numpy()
    whole = np.select([does == "renew", does == "adjust"], [renew[place], _drips(ground)[place]], look[place])
    left = time_left(tasks["date"], ground.result)
    life = over_life(ground.result, _delays(ground), (renew, ground.now.loss.mean(axis=1)))
    later = (tasks["when"] == LATER).to_numpy()
    share = np.where(does == "renew", np.where(later, life.later[place], 1.0), left)
    averted = tasks["finds"].to_numpy() * whole * share
    # What a look finds, it finds within the warning time: its worth is used up over the horizon.
    longer = np.where(later, life.later_life[place], life.now_life[place])
    longer = np.where(does == "renew", np.maximum(longer, averted), averted)
    return tasks.assign(averted=averted, averted_life=longer, share=share)


def time_left(days: pd.Series, result: Assessment) -> FloatArray:
    """Share of the horizon that is left on each of the days."""
    horizon = result.horizon
    whole = (horizon.until - horizon.as_of).days
    left: FloatArray = np.array([max((horizon.until - day).days, 0) / whole for day in days], dtype=float)
    return left


def _delays(ground: Ground) -> FloatArray:
    """(items,) years to the boat's next time ashore, the horizon's where there is none in it."""
    horizon = ground.result.horizon

    def years(day: date | None) -> float:
        return (
            horizon.years if day is None else min((day - horizon.as_of).days / DAYS_PER_YEAR, horizon.years)
        )

    by_boat = np.array([years(day) for day in ground.ashore["next_on"]])
    delays: FloatArray = by_boat[ground.result.consequences.vessel]
    return delays


def _drips(ground: Ground) -> FloatArray:
    """(items,) what an adjustment today averts: of the nuisance and slow damage a part brings about, the share whose
    warning stands open today, less the faults of new work. The age goes on, so sinking stays as likely as it was."""
    result, following = ground.result, ground.result.following
    price = result.losses.set_index(["vessel_id", "end_state"])["mean"]
    rows = following.rows
    slow = rows["end_state"].isin(DRIPS).to_numpy()
    of_one = price.loc[pd.MultiIndex.from_frame(rows.loc[slow, ["vessel_id", "end_state"]])].to_numpy(
        dtype=float
    )
    place = rows["item"].to_numpy()[slow]
    chance = pd.DataFrame(ground.now.probability).to_numpy()[place, _columns(rows.loc[slow], ground.now)]
    costs = chance * of_one * following.loss_factor[slow].mean(axis=1)
    loss = np.bincount(place, weights=costs, minlength=len(result.fleet.items))
    faults = result.trade.care["early_failure_share"].typical
    averted: FloatArray = loss * np.maximum(result.parts.seen.mean(axis=1) - faults, 0.0)
    return averted


def _columns(rows: pd.DataFrame, found: Outcomes) -> npt.NDArray[np.intp]:
    return pd.Index(list(found.probability)).get_indexer(pd.Index(rows["end_state"]))


def work_done(work: pd.DataFrame, items: int) -> tuple[FloatArray, FloatArray]:
    """``renewed`` and ``finds`` (items,) of these options, for worked.outcomes_of_work; what an adjustment stops is
    too small to stand in it."""
    renewed, finds = np.zeros(items), np.zeros(items)
    place, does = work["item"].to_numpy(), work["does"].to_numpy()
    share = work["share"].to_numpy(dtype=float)
    renewal, look = does == "renew", np.isin(does, LOOKING)
    renewed[place[renewal]] = share[renewal]
    finds[place[look]] = (share * work["finds"].to_numpy(dtype=float))[look]
    return renewed, finds
