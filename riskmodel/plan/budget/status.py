"""What stands of the things that come first once a plan is carried out, and what is left of them and of old rubber."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.plan.budget.choice import Choice, Places
from riskmodel.plan.budget.floors import DEFECT, Floor, sinking_of_boats
from riskmodel.plan.budget.money import Till
from riskmodel.plan.budget.options import Ground
from riskmodel.risk import Assessment
from riskmodel.risk.frame import SINKING
from riskmodel.risk.outcomes import Outcomes

# Central 90 % of the draws.
BAND = (0.05, 0.95)
COLUMNS = ("kind", "vessel_id", "item_id", "limit", "before", "before_low", "before_high", "after", "cost")
TRUTHS = ("paid", "possible", "met")


def sinking_band(found: Outcomes) -> tuple[FloatArray, FloatArray]:
    """(vessels,) ends of the central 90 % of each boat's chance of sinking, rain and waves counted."""
    drawn = [found.boats[state] for state in SINKING if state in found.boats]
    vessels = len(found.background_loss)
    if not drawn:
        return np.zeros(vessels), np.zeros(vessels)
    low, high = np.quantile(np.minimum(sum(drawn), 1.0), BAND, axis=1)
    return low, high


def floor_status(
    found: tuple[Floor, ...],
    choice: Choice,
    work: pd.DataFrame,
    options: pd.DataFrame,
    tools: tuple[Outcomes, Ground],
) -> pd.DataFrame:
    """One row a floor: what it is, its chance as things stand with the central 90 % (``before_low, before_high``),
    ``after`` the plan, the ``cost`` of its own work with the lifts still to be paid [currency], and whether it is
    ``paid`` for, ``possible`` by work at all, and ``met``.

    ``work``: the plan's, with dates; ``tools``: the end states once it is done, and the ground.
    """
    after, ground = tools
    ids, vessels = ground.result.fleet.items["item_id"], ground.result.fleet.vessels["vessel_id"]
    chances = _chances(found, after, ground)
    till = Till(options, ground.lift)
    waiting = set(work.loc[work["date"].isna(), "item"])
    rows = []
    for number, (floor, chance) in enumerate(zip(found, chances, strict=True)):
        paid, end = number < choice.floors, chance["after"]
        items = {floor.item} if floor.item >= 0 else set(work.loc[work["vessel"] == floor.vessel, "item"])
        rows.append(
            {
                "kind": floor.kind,
                "vessel_id": vessels.iat[floor.vessel],
                "item_id": "" if floor.item < 0 else ids.iat[floor.item],
                "limit": floor.limit,
                **chance,
                "cost": till.together(floor.options) / 100,
                "paid": paid and bool(floor.options),
                "possible": bool(floor.options),
                "met": bool(paid and (np.isnan(end) or end <= floor.limit) and not items & waiting),
            }
        )
        till.take(floor.options)
    # Of no floors at all, the last are still columns of true and false.
    return pd.DataFrame(rows, columns=[*COLUMNS, *TRUTHS]).astype(dict.fromkeys(TRUTHS, bool))


def _chances(found: tuple[Floor, ...], after: Outcomes, ground: Ground) -> list[dict[str, float]]:
    """Each floor's chance before, its band, and after; NaN for a defect, which is no chance."""
    boats, kill = sinking_of_boats(after, ground.result), after.kill.mean(axis=1)
    of_boats, of_parts = np.stack(sinking_band(ground.now)), np.quantile(ground.now.kill, BAND, axis=1)
    rows = []
    for floor in found:
        whole = floor.item < 0
        low, high = of_boats[:, floor.vessel] if whole else of_parts[:, floor.item]
        values = (floor.before, low, high, boats[floor.vessel] if whole else kill[floor.item])
        told = [np.nan if floor.kind == DEFECT else float(value) for value in values]
        rows.append(dict(zip(("before", "before_low", "before_high", "after"), told, strict=True)))
    return rows


def cost_of_floors(found: Iterable[Floor], options: pd.DataFrame, lift: FloatArray) -> int:
    """Cents that all that comes first costs together, each boat's lift once."""
    return Till(options, lift).together([row for floor in found for row in floor.options])


def would_pay_for(
    found: tuple[Floor, ...], choice: Choice, options: pd.DataFrame, tools: tuple[FloatArray, int]
) -> pd.DataFrame:
    """What the kept money would pay for, together, of what comes first and is not reached: the greatest danger first.

    ``tools``: the lifts (vessels,) [currency], and the amount [cents]. Rows of the options, those of one floor side
    by side, with its ``kind, danger`` and ``cost`` of the task, and ``lift`` [currency] still to be paid for it.
    """
    lift, amount = tools
    till = Till(options, lift)
    till.take([row for floor in found[: choice.floors] for row in floor.options])
    left, rows, more = amount - choice.cost, [], []
    for floor in sorted(found[choice.floors :], key=lambda floor: -floor.danger):
        price = till.together(floor.options)
        if not floor.options or price > left:
            continue
        for row in floor.options:
            alone = till.together((row,))
            till.take((row,))
            rows.append(row)
            more.append((floor.kind, floor.danger, (alone - int(till.cost[row])) / 100))
        left -= price
    told = pd.DataFrame(more, columns=["kind", "danger", "lift"])
    return pd.concat([options.loc[rows].reset_index(drop=True), told], axis=1)


def overdue_left(options: pd.DataFrame, rows: Places, result: Assessment) -> pd.DataFrame:
    """Renewals of all age-renewed rubber past its age that the plan does not hold, with the chance (``risk``) that it
    sinks the boat or kills, the likeliest first: no look makes up for them, and no small danger."""
    frame = result.frame.assign(risk=result.frame[["sinking_probability", "kill_probability"]].max(axis=1))
    late = frame[frame["overdue"]]
    place = pd.Index(result.fleet.items["item_id"]).get_indexer(pd.Index(late["item_id"]))
    risk = dict(zip(place, late["risk"], strict=True))
    renewals = options[(options["does"] == "renew") & options["item"].isin(risk)]
    left = renewals[~renewals["item"].isin(options.loc[rows, "item"])].assign(
        risk=lambda some: some["item"].map(risk)
    )
    cheapest = left.sort_values("cost", kind="stable").drop_duplicates("item")
    return cheapest.sort_values("risk", ascending=False, kind="stable").reset_index(drop=True)
