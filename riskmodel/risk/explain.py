"""Every number behind one part's risk, in the order it was worked out, each with its source."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.errors import ParameterError
from riskmodel.fleet import GUESSED, value_is_guess
from riskmodel.frames import each_row
from riskmodel.risk.assess import Assessment
from riskmodel.risk.consequence_steps import barrier_steps, consequence_steps, physics_steps
from riskmodel.risk.step import Step, said
from riskmodel.words import counted, in_a_thousand, money


def explain_item(result: Assessment, item_id: str) -> tuple[Step, ...]:
    """Steps from the tables to the rank for one part.

    Raises
    ------
    ParameterError
        When the fleet has no such item; the nearest id is named.
    """
    items = result.fleet.items
    places = items.index[items["item_id"] == item_id]
    if len(places) == 0:
        near = get_close_matches(item_id, list(items["item_id"]), n=1)
        hint = f"; the nearest is {near[0]}" if near else ""
        sold = f" ({counted(result.learned.sold, 'boat')} sold, whose parts are not ranked)"
        raise ParameterError(f"no item {item_id} in this fleet{sold if result.learned.sold else ''}{hint}")
    place = int(places[0])
    row = result.frame[result.frame["item_id"] == item_id].iloc[0]
    steps = [
        _part,
        _boat,
        _life,
        _pace,
        _chance,
        consequence_steps,
        physics_steps,
        barrier_steps,
        _tasks,
        _rank,
    ]
    return tuple(step for work in steps for step in work(result, place, row))


def _part(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    item, where = result.fleet.items.iloc[place], result.standing.iloc[place]
    item_class = result.trade.classes[row["item_class"]]
    table = "the typical outfit of such a boat" if item["assumed"] else "your items table"
    yield Step("The part", "Class", item_class.label, table)
    yield Step("The part", "What it is", item_class.description, item_class.source)
    yield Step("The part", "Needs work when", item_class.needs_work, item_class.source)
    yield Step("The part", "Has let go when", item_class.lets_go, item_class.source)
    yield Step("The part", "How to look", item_class.how_to_look, item_class.source)
    if where["quantity"] != 1:
        yield Step(
            "The part", "How many", f"{where['quantity']:g}; the chance is that any of them lets go", table
        )
    yield Step("The part", "Age", _age(where), "your tables" if where["age_known"] else _UNKNOWN_AGE)
    yield Step("The part", "Latest finding", _finding(where), "your records")
    if row["defect"]:
        yield Step("The part", "Known defect", row["defect"], "your tables")


def _boat(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    vessels = result.fleet.vessels
    at = int(vessels.index[vessels["vessel_id"] == row["vessel_id"]][0])
    boat, given = vessels.loc[at], result.fleet.given["vessels"]
    defaults = result.fleet.defaulted
    guessed = bool(value_is_guess(vessels)[at])
    for column in _BOAT:
        mine = at in given.index and bool(given.loc[at, column])
        rows = defaults[(defaults["table"] == "vessels") & (defaults["column"] == column)]
        source = (
            GUESSED
            if column == "value" and guessed
            else "your vessels table"
            if mine
            else f"default: {rows['source'].iloc[0]}"
            if len(rows)
            else "not given"
        )
        yield Step("The boat", column, _cell(boat[column]), source)


def _life(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    name = row["item_class"]
    seed, life = result.lives.seeds[name], result.lives.posterior[name]
    for interval in seed.intervals:
        span = f"{interval.low:g} to {interval.high:g} years ({interval.grade.replace('_', ' ')})"
        yield Step(
            "Its life", interval.meaning.replace("_", " "), span, f"{interval.source}; {interval.status}"
        )
    mechanism = result.trade.classes[name].mechanism
    yield Step(
        "Its life",
        "Mechanism",
        f"{mechanism.mechanism.replace('_', ' ')}, shape {mechanism.shape:g}",
        mechanism.source,
    )
    before, now = result.lives.prior[name].quantile(0.1), life.quantile(0.1)
    yield Step("Its life", "10 % let go by, before records", _span(before), "the intervals above")
    seen = f"{life.rows.failures:.0f} failures, {life.rows.survivors:.0f} survivors of this class"
    yield Step("Its life", "Records", seen, "your records")
    yield Step("Its life", "10 % let go by, now", _span(now), "prior and records together")
    if life.conflict:
        yield Step(
            "Its life", "Warning", "records and trade interval disagree: trust neither alone", "the fit"
        )


def _pace(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    """How fast the part ages on this boat, and what its clean looks, readings and lot change."""
    lives, name, where = result.lives, row["item_class"], result.standing.iloc[place]
    kind = lives.ageing.kind[row["vessel_id"]]
    middle, spread = lives.ageing.middle[name][kind], lives.ageing.spread[name][kind]
    for at, factor in enumerate(lives.ageing.factors):
        if middle[at] == 0 and spread[at] == 0:
            continue
        judged = np.exp(middle[at] + np.array([-1.645, 1.645]) * spread[at])
        now = float(np.exp(middle[at] + spread[at] * lives.ageing.shift[at]))
        value = f"ages {now:.2g} times as fast here (judged {judged[0]:.2g} to {judged[1]:.2g})"
        yield Step("Its pace", factor, value, "the trade's surroundings, corrected by your records")
    if where["reach"] != 1.0:
        yield Step(
            "Its pace",
            "Readings",
            f"time ahead counts {where['reach']:.2g} times",
            "the trend of its readings",
        )
    lot = lives.lots.get((name, where["batch"])) if where["batch"] else None
    if lot is not None:
        told = f"{lot.failures:g} failures where {lot.expected:.1f} were expected"
        value = f"{where['batch']}: {told}, factor {lot.mean:.2g}"
        yield Step("Its pace", "Maker's lot", value, "your records of its siblings")


def _chance(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    until = str(result.horizon.until)
    band = _band(row["failure_probability"], row["failure_low"], row["failure_high"])
    yield Step("Its chance", f"Lets go by {until}", band, "the life at its age and pace, and its clean looks")
    yield Step(
        "Its chance",
        f"Needs work by {until}",
        said(row["needs_work_probability"]),
        "the warning window before it",
    )
    where = result.standing.iloc[place]
    usual = float(result.lives.posterior[row["item_class"]].quantile(0.5).age)
    if where["age_known"] and where["age_years"] > usual:
        yield Step(
            "Its chance",
            "It has held longer than most",
            f"half are gone by about {usual:.0f} years; that it holds is no credit: a renewal nobody wrote down is "
            "likelier than a part that outlives the rest, and the band is wide for it",
            "the method; judgement",
        )
    if where["gap_years"] != 0.0:
        since = "it was new" if pd.isna(where["gap_years"]) else f"{where['gap_years']:.1f} years ago"
        yield Step(
            "Its chance", "Counted from", f"the last passed test or sound look: {since}", "it fails unseen"
        )


def _tasks(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    mine = result.tasks[result.tasks["item"] == place]
    trade_tasks = {task.task: task for task in result.trade.classes[row["item_class"]].tasks}
    for task in each_row(mine):
        record = trade_tasks[str(task.task)]
        lift = f", of which haul-out {task.haul_out:,.0f}" if task.haul_out else ""
        taken = task.task == row["best_task"] and task.looks == row["task_looks"]
        chosen = " (chosen)" if taken else ""
        often = f", {task.looks} times by {result.horizon.until}" if task.looks > 1 else ""
        value = f"costs {task.cost:,.0f}{lift}{often}; {record.skill}; {record.what}"
        yield Step(
            "What can be done",
            f"{str(task.task).replace('_', ' ')}{chosen}",
            value,
            f"{record.source}; {record.status}",
        )
    if row["look_value"] > 0:
        worth = f"looking first is worth {money(row['look_value'])} more than renewing now or leaving it"
        yield Step(
            "What can be done", "Look first or renew?", worth, "loss averted less cost, the same draws"
        )
    averted = f"{row['loss_averted']:,.0f}, {row['averted_per_cost']:.2g} for each unit spent"
    yield Step(
        "What can be done", "Loss averted by the chosen task", averted, "before and after, the same draws"
    )


def _rank(result: Assessment, place: int, row: pd.Series) -> Iterator[Step]:
    value = f"{row['rank']} of {len(result.frame)} (90 %: {row['rank_low']} to {row['rank_high']}), as {row['group']}"
    value += f"; on the mean {row['rank_expected']:.0f}, among the first ten after the defects in "
    value += f"{100 * row['top_probability']:.0f} % of draws"
    yield Step("Its rank", "Rank", value, "known defects, then paths that can kill, then money")
    for caution in result.trade.cautions:
        if row["item_class"] in caution.applies_to:
            yield Step("Cautions", caution.topic.replace("_", " "), caution.text, caution.source)


_BOAT = (
    *("propulsion", "fuel", "built_year", "length_m", "value", "water", "climate", "kept", "core"),
    *("checked_every_days", "alarm_telemetry", "shore_power", "battery_ah", "hulls", "compartments"),
    *("self_draining", "covered", "low_transom"),
)
_UNKNOWN_AGE = (
    "not given: integrated over the time since the last renewal, from the boat's age and owners' habits"
)


def _age(where: pd.Series) -> str:
    if where["age_known"]:
        return f"{where['age_years']:.1f} years"
    oldest = min(where["oldest"], where["limit"])
    return f"unknown: {where['youngest']:.1f} to {oldest:.1f} years. A date on it would tell"


def _finding(where: pd.Series) -> str:
    if not where["found"] or pd.isna(where["looked_on"]):
        return "none on record"
    return f"{where['found']}, {where['looked_on']:%Y-%m-%d}"


def _cell(value: Any) -> str:
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if value == "" or pd.isna(value):
        return "unknown"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _span(quantile: Any) -> str:
    return (
        f"{float(quantile.age):.1f} years (90 %: {float(quantile.lower):.1f} to {float(quantile.upper):.1f})"
    )


def _band(chance: float, low: float, high: float) -> str:
    return f"{said(chance)} (90 %: {in_a_thousand(low)} to {in_a_thousand(high)})"
