"""What a plan leaves: the next tasks, those without yard hours, rubber past its age; and plain words for work."""

from __future__ import annotations

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.budget.instead import part_labels
from riskmodel.plan.budget.plan import Plan
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.words import in_a_thousand, money, price, ratio

OVERDUE = (
    "PAST THE MAKER'S OR TRADE'S RENEWAL AGE and not reached by this money: renewed "
    "whatever they look like, and no plan is a reason to leave them"
)


def named_work(plan: Plan, work: pd.DataFrame) -> pd.DataFrame:
    """Work with ``boat``, ``part`` and ``do`` in plain words."""
    labels = part_labels(plan.result)
    do = work["task"].str.replace("_", " ")
    often = work["looks"].map(lambda looks: f", {looks} times" if looks > 1 else "")
    return work.assign(
        boat=boat_names(plan.result, work),
        part=work["item_id"].map(labels),
        do=do + often if len(work) else do,
    )


def cost_column(plan: Plan) -> Column:
    """The head of a column of costs, in the fleet's currency."""
    return Column(f"Cost\n{currency_of(plan.result)}", number=True)


def next_block(plan: Plan) -> str:
    """What the next money would buy; empty for nothing."""
    if plan.next_best.empty:
        return ""
    columns = [
        Column("Boat: part, and what to do"),
        cost_column(plan),
        Column(f"Averts\n{currency_of(plan.result)}", number=True),
        Column("Per 1\nspent", number=True),
    ]
    cells = [
        (
            f"{row.boat}: {row.part}: {row.do}"
            + (", with a lift and what else that serves" if row.with_lift else ""),
            price(row.more_cost),
            money(row.more_averted),
            ratio(row.per_cost),
        )
        for row in each_row(named_work(plan, plan.next_best))
    ]
    head = "WHAT THE NEXT MONEY WOULD BUY, over what the plan does to the same part"
    return f"{head}\n\n{text_table(columns, cells)}"


def unplaced_block(plan: Plan, top: int) -> str:
    """Work that the yard has no hours for; empty for none."""
    if plan.unplaced.empty:
        return ""
    rows = named_work(plan, plan.unplaced).head(top)
    columns = [Column("Boat: part, and what to do"), Column("Hours", number=True), cost_column(plan)]
    cells = [(f"{r.boat}: {r.part}: {r.do}", f"{r.hours:.1f}", price(r.cost)) for r in each_row(rows)]
    more = len(plan.unplaced) - len(rows)
    tail = f"\n({more} more.)" if more else ""
    head = f"NO HOURS LEFT in a yard of {plan.yard_hours:g} hours a month: worth doing, not in the plan"
    return f"{head}\n\n{text_table(columns, cells)}{tail}"


def overdue_block(plan: Plan, top: int) -> str:
    """Rubber past its age that the money does not reach, likeliest to sink or kill first; empty for none."""
    if plan.overdue.empty:
        return ""
    rows = named_work(plan, plan.overdue)
    columns = [
        Column("Boat: part"),
        Column("Sinks or kills,\nin 1,000", number=True),
        Column("Do"),
        cost_column(plan),
    ]
    cells = [
        (f"{r.boat}: {r.part}", in_a_thousand(r.risk) if r.risk > 0 else "-", r.do, price(r.cost))
        for r in each_row(rows.head(top))
    ]
    more = len(rows) - len(cells)
    tail = f"\n({more} more: ask for --top {len(rows)}.)" if more else ""
    total = f"\nAll of them: {currency_of(plan.result)} {price(rows['cost'].sum())}, without lifts."
    return f"{paragraph(OVERDUE)}\n\n{text_table(columns, cells)}{tail}{total}"
