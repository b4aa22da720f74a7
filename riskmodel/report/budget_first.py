"""What too little money leaves undone of what comes first: what to do meanwhile, and how much is enough."""

from __future__ import annotations

import math

from riskmodel.frames import each_row
from riskmodel.plan.budget.instead import part_labels
from riskmodel.plan.budget.plan import Plan
from riskmodel.report.budget_left import named_work
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.words import in_a_thousand, price

NOT_MET = "NOT ENOUGH: something that comes first is not seen to. Until it is"
CHOICE = (
    "The {kept} kept would pay for what follows, if its keeper so chooses, the greatest danger first. A larger amount "
    "starts with the dearer one above; and what is said of each boat stands until all of it is done."
)


def not_met_block(plan: Plan, top: int) -> str:
    """What to do with boats whose floors are not met, what all floors cost, and what the kept money would pay for
    instead, at most ``top`` rows; empty where every floor is met."""
    if plan.satisfied:
        return ""
    rows = plan.instead.assign(boat=boat_names(plan.result, plan.instead))
    lines = [paragraph(f"{row.boat}: {row.advice}.", indent="  ") for row in each_row(rows)]
    told = ["\n".join([f"{NOT_MET}:", *lines]), _enough(plan), _would_pay(plan, top)]
    return "\n\n".join(each for each in told if each)


def _enough(plan: Plan) -> str:
    """How much all that comes first costs, and what the next money does; empty where all of it is paid for."""
    first = _next_floor(plan)
    if not first:
        return ""
    currency, kept = currency_of(plan.result), plan.amount - plan.cost
    # Rounded up: the amount named is enough.
    told = (
        f"All that comes first costs {currency} {price(math.ceil(plan.first_cost))}, lifts in it. "
        f"Next comes {first}."
    )
    if kept >= 1:
        told += f" {currency} {price(kept)} is kept for it: money goes nowhere else meanwhile."
    return paragraph(told)


def _next_floor(plan: Plan) -> str:
    """The first that the money does not reach, with what it costs; empty for none."""
    left = plan.floors[plan.floors["possible"] & ~plan.floors["paid"]].head(1)
    if left.empty:
        return ""
    (row,) = each_row(left.assign(boat=boat_names(plan.result, left)))
    part = part_labels(plan.result)[row.item_id] if row.item_id else "the whole boat, which may sink"
    return f"{row.boat}: {part}, for {currency_of(plan.result)} {price(math.ceil(row.cost))}"


def _would_pay(plan: Plan, top: int) -> str:
    if plan.would_pay.empty:
        return ""
    currency = currency_of(plan.result)
    kept = f"{currency} {price(plan.amount - plan.cost)}"
    rows = named_work(plan, plan.would_pay)
    columns = [
        Column("Boat: part, and what to do"),
        Column("Danger"),
        Column("In\n1,000", number=True),
        Column(f"Cost\n{currency}", number=True),
    ]
    cells = [
        (f"{row.boat}: {row.part}: {row.do}", row.kind, in_a_thousand(row.danger), price(row.cost + row.lift))
        for row in each_row(rows.head(top))
    ]
    more = len(rows) - len(cells)
    tail = f"\n({more} more: ask for --top {len(rows)}.)" if more else ""
    said = paragraph(CHOICE.format(kept=kept))
    return f"{said}\n\n{text_table(columns, cells)}{tail}"
