"""What a change would make of a fleet, as a page of text: before and after, boat by boat, and what stays first."""

from __future__ import annotations

import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.what_if import Difference, by_boat
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.nothing_left import nothing_left_page
from riskmodel.report.rank import boat_names, currency_of
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk.ranking import KNOWN_DEFECT
from riskmodel.words import chance_or_none, counted, money

STILL = (
    "Nothing here is a reason to leave a known defect or a dangerous part alone: they come first with the change and "
    "without it, and a boat that is looked at oftener needs its old rubber renewed all the same."
)


def what_if_page(difference: Difference, top: int) -> str:
    """The difference, wrapped to 80 columns; at most ``top`` boats."""
    before = difference.before
    if left := nothing_left_page(before):
        return left
    boats, currency = by_boat(difference), currency_of(before)
    until = f"{before.horizon.until} ({before.horizon.wording})"
    parts = [
        heading(before.fleet.source, str(before.horizon.as_of), until),
        "WHAT IF\n" + "\n".join(paragraph(f"  {told}", indent="    ") for told in difference.told),
        _totals(boats, currency),
        _table(difference, boats, top, currency),
        _cost(difference, boats, currency),
        paragraph(_defects(difference)),
        paragraph(STILL),
        notes_block(difference.after.notes),
        cautions_block(before.trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _totals(boats: pd.DataFrame, currency: str) -> str:
    rows = [
        (
            "expected loss",
            *(f"{currency} {money(boats[f'loss_{side}'].sum())}" for side in ("before", "after")),
        ),
        *(
            (label, *(f"{boats[f'{name}_{side}'].sum():.2g}" for side in ("before", "after")))
            for label, name in (
                ("sinkings to be expected, rain and the like included", "sinking_probability"),
                ("events that can kill to be expected", "kill_probability"),
            )
        ),
    ]
    columns = [
        Column("The whole fleet, by the day above"),
        Column("As it is", number=True),
        Column("Changed", number=True),
    ]
    return text_table(columns, rows)


def _table(difference: Difference, boats: pd.DataFrame, top: int, currency: str) -> str:
    shown = boats.head(top)
    names = boat_names(difference.before, shown)
    columns = [
        Column("Boat"),
        Column(f"Loss,\n{currency}", number=True),
        Column("then", number=True),
        Column("Sinks,\nin 1,000", number=True),
        Column("then", number=True),
        Column("Can kill,\nin 1,000", number=True),
        Column("then", number=True),
    ]
    cells = [
        (
            name,
            money(row.loss_before),
            money(row.loss_after),
            chance_or_none(row.sinking_probability_before),
            chance_or_none(row.sinking_probability_after),
            chance_or_none(row.kill_probability_before),
            chance_or_none(row.kill_probability_after),
        )
        for name, row in zip(names, each_row(shown), strict=True)
    ]
    more = len(boats) - len(shown)
    tail = f"\n({more} more: ask for --top {len(boats)}, or --format csv for all.)" if more else ""
    return f"BOAT BY BOAT, most saved first\n\n{text_table(columns, cells)}{tail}"


def _cost(difference: Difference, boats: pd.DataFrame, currency: str) -> str:
    if not difference.renewed:
        return ""
    parts, cost = counted(len(difference.renewed), "part"), money(difference.cost)
    saved = float(boats["saved"].sum())
    does = "avert" if saved >= 0 else "add"
    return paragraph(
        f"Renewing or fitting the {parts} one by one costs about {currency} {cost}; all the changes together {does} "
        f"{currency} {money(abs(saved))} of expected loss by then, before insurance. Work that shares a "
        "haul-out costs less."
    )


def _defects(difference: Difference) -> str:
    known, left = (
        int((each.frame["group"] == KNOWN_DEFECT).sum()) for each in (difference.before, difference.after)
    )
    if not left:
        return "No known defect is left by it." if known else "No known defect is on record."
    return f"{counted(left, 'known defect')} still to be put right before the boats are used again."
