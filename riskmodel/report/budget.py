"""A plan for an amount of money as a page of text: what comes first, what the money buys, and what it leaves."""

from __future__ import annotations

from typing import Any

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.budget.floors import DEFECT, KILL, SINK, sinking_limit
from riskmodel.plan.budget.instead import part_labels
from riskmodel.plan.budget.plan import MONEY, Plan
from riskmodel.report.budget_first import not_met_block
from riskmodel.report.budget_left import cost_column, named_work, next_block, overdue_block, unplaced_block
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.limits import nearest_to_limit, whose_limits
from riskmodel.report.nothing_left import nothing_left_page
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT
from riskmodel.words import band, counted, in_a_thousand, limit_in, money, price, ratio

HEADS = {
    DEFECT: "BEFORE THE BOAT IS USED AGAIN: known defects, paid first whatever the amount",
    KILL: "THEN: PATHS THAT CAN KILL, and boats too likely to sink, before any money",
    MONEY: "THEN: WHAT THE REST OF THE MONEY DOES, by boat and date",
}
# What a plan rests on, said under every one of them.
WORKED_OUT = (
    "A renewal's worth has the faults of fitting and of new parts taken off; a look is worth what it finds, and the "
    "renewal of what it finds is not in its cost, for that part's time had come. Losses are before insurance; hire "
    "lost (day_rate for downtime_days; one day of it for a nuisance, none for an injury) counts in them where a boat "
    "is let."
)


def budget_page(plan: Plan, top: int) -> str:
    """The whole page; at most ``top`` rows of money's lists, and everything that comes before money."""
    result, horizon = plan.result, plan.result.horizon
    if left := nothing_left_page(result):
        return left
    parts = [
        heading(result.fleet.source, str(horizon.as_of), f"{horizon.until} ({horizon.wording})"),
        not_met_block(plan, top),
        _defects(plan),
        _floors(plan),
        _money(plan, top),
        _sums(plan),
        _boats(plan, top),
        next_block(plan),
        unplaced_block(plan, top),
        overdue_block(plan, top),
        paragraph(WORKED_OUT),
        notes_block(result.notes),
        cautions_block(result.trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _defects(plan: Plan) -> str:
    rows = plan.floors[plan.floors["kind"] == DEFECT]
    if rows.empty:
        return f"{HEADS[DEFECT]}\nNone on record."
    work = plan.frame[plan.frame["reason"] == DEFECT].set_index("item_id")
    labels = part_labels(plan.result)
    known = plan.result.frame.set_index("item_id")["defect"]
    columns = [Column("Boat: part"), Column("What is known"), Column("Do"), Column("Who"), cost_column(plan)]
    cells = []
    for row in each_row(rows.assign(boat=boat_names(plan.result, rows))):
        done = work.loc[row.item_id] if row.item_id in work.index else None
        told = ("not reached", "", "-") if done is None else _done(done)
        cells.append((f"{row.boat}: {labels[row.item_id]}", str(known[row.item_id]), *told))
    return f"{HEADS[DEFECT]}\n\n{text_table(columns, cells)}"


def _done(work: Any) -> tuple[str, str, str]:
    when = "" if work["date"] is not None and not pd.isna(work["date"]) else " (no yard hours)"
    return work["task"].replace("_", " ") + when, str(work["skill"]), price(work["cost"])


def _floors(plan: Plan) -> str:
    """Floors that bind: what is over its limit, and what brings it under."""
    rows = plan.floors[plan.floors["kind"] != DEFECT]
    limits = paragraph(
        f"Limits: {limit_in(plan.result.limit)} that a part kills, {limit_in(sinking_limit(plan.result))} that a boat "
        f"sinks, by {plan.result.horizon.until}. {whose_limits(plan.result)}"
    )
    if rows.empty:
        return f"{HEADS[KILL]}\n{limits}\n{paragraph(_none_over(plan))}"
    columns = [
        Column("Boat: part"),
        Column("Danger"),
        Column("Before, in\n1,000 (90 %)", number=True),
        Column("After,\nin 1,000", number=True),
        Column("Do"),
    ]
    labels = part_labels(plan.result)
    cells = [
        (
            f"{row.boat}: {labels[row.item_id]}" if row.item_id else f"{row.boat} (the whole boat)",
            row.kind,
            band(row.before, row.before_low, row.before_high),
            in_a_thousand(row.after),
            _met_by(row, plan),
        )
        for row in each_row(rows.assign(boat=boat_names(plan.result, rows)))
    ]
    return f"{HEADS[KILL]}\n{limits}\n\n{text_table(columns, cells)}"


def _none_over(plan: Plan) -> str:
    """That nothing but defects is over a limit, and what is nearest where that is so before they are put right."""
    frame, labels = plan.result.frame, part_labels(plan.result)
    once = " once the known defects are put right" if frame["group"].eq(KNOWN_DEFECT).any() else ""
    said = f"No part and no boat is over its limit{once}."
    if frame["group"].eq(CAN_KILL).any():
        return said
    what = boat_names(plan.result, frame) + ": " + frame["item_id"].map(labels)
    return f"{said} {nearest_to_limit(frame.assign(what=what), plan.result.limit)}"


def _met_by(row: Any, plan: Plan) -> str:
    if not row.possible:
        return "no work on it is enough: have somebody competent look"
    if not row.paid:
        return "not reached"
    work = plan.frame[plan.frame["vessel_id"] == row.vessel_id]
    work = work[(work["item_id"] == row.item_id) if row.item_id else (work["reason"] == SINK)]
    done = named_work(plan, work)
    if row.item_id:
        return ", ".join(done["do"])
    return "; ".join(f"{each.part}: {each.do}" for each in each_row(done))


def _money(plan: Plan, top: int) -> str:
    work = plan.frame[plan.frame["reason"] == MONEY]
    if work.empty:
        return f"{HEADS[MONEY]}\nNothing."
    shown = (
        named_work(plan, work).sort_values("averted", ascending=False, kind="stable").head(top).sort_index()
    )
    columns = [
        Column("Date"),
        Column("Boat: part, and what to do"),
        Column("Who"),
        Column("Hours", number=True),
        cost_column(plan),
        Column(f"Averts\n{currency_of(plan.result)}", number=True),
    ]
    cells = [
        (
            f"{row.date}",
            f"{row.boat}: {row.part}: {row.do}{' (' + row.note + ')' if row.note else ''}",
            row.skill,
            f"{row.hours:.1f}",
            price(row.cost),
            money(row.averted),
        )
        for row in each_row(shown)
    ]
    more = len(work) - len(shown)
    tail = (
        f"\n({more} more that avert less: ask for --top {len(work)}, or --format csv for all.)"
        if more
        else ""
    )
    return f"{HEADS[MONEY]}\n\n{text_table(columns, cells)}{tail}"


def _sums(plan: Plan) -> str:
    """What the money does, added up and recomputed, and how good the plan is proved to be."""
    currency, until = currency_of(plan.result), plan.result.horizon.until
    first = plan.frame["reason"] != MONEY
    lifts = (
        f"; {counted(len(plan.lifts), 'lift')} in it for {price(plan.lifts['cost'].sum())}"
        if len(plan.lifts)
        else ""
    )
    spent = (
        f"Of {currency} {price(plan.amount)} the plan spends {price(plan.cost)} on {counted(len(plan.frame), 'task')}"
        f"{lifts}. {price(plan.frame.loc[first, 'cost'].sum())} of it, without lifts, is for what comes before money."
    )
    losses = (
        f"Expected loss by {until}: {currency} {money(plan.before)} before the plan and {money(plan.after)} after it, "
        f"recomputed in full. Single tasks' losses averted add up to {money(plan.averted)}: tasks that guard against "
        "the same thing are each counted as if alone, and the plan is chosen by that sum."
    )
    return "\n\n".join(paragraph(line) for line in (spent, losses, _proof(plan)) if line)


def _proof(plan: Plan) -> str:
    if plan.floors["paid"].all() or plan.floors.loc[plan.floors["possible"], "paid"].all():
        currency = currency_of(plan.result)
        best = "proved the best" if plan.proof == "optimal" else f"within {plan.gap:.1e} of the best"
        hours = " before the yard's hours moved work on" if plan.yard_hours is not None else ""
        worth = ratio(plan.shadow_price)
        said = (
            f"No plan for this money averts more than {currency} {plan.bound:,.2f} by that sum{hours}: this one is "
            f"{best}. One {currency} more would avert about {worth}."
        )
        little = " That is less than it costs by that day; over the parts' lives it may be more."
        return said + (little if plan.shadow_price < 1 else "")
    return ""


def _boats(plan: Plan, top: int) -> str:
    """What each boat's loss comes to, before and after, the most bettered first."""
    frame = plan.vessels[plan.vessels["tasks"] > 0]
    if frame.empty:
        return ""
    gained = (frame["loss_before"] - frame["loss_after"]).sort_values(ascending=False, kind="stable")
    shown = frame.loc[gained.index].head(top)
    columns = [
        Column("Boat"),
        Column("Tasks", number=True),
        cost_column(plan),
        Column("Loss\nbefore", number=True),
        Column("Loss\nafter", number=True),
        Column("Sinks before, in\n1,000 (90 %)", number=True),
        Column("After,\nin 1,000", number=True),
    ]
    cells = [
        (
            row.boat,
            f"{row.tasks}",
            price(row.cost),
            money(row.loss_before),
            money(row.loss_after),
            band(row.sinking_before, row.sinking_before_low, row.sinking_before_high),
            in_a_thousand(row.sinking_after),
        )
        for row in each_row(shown.assign(boat=boat_names(plan.result, shown)))
    ]
    more = len(frame) - len(shown)
    tail = f"\n({more} more: ask for --top {len(frame)}.)" if more else ""
    return f"THE BOATS, recomputed in full, lifts in the cost\n\n{text_table(columns, cells)}{tail}"
