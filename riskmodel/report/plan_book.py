"""Writes a plan as a workbook: the work, the boats, what came first, what is left, and the curve, a sheet each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from io import BytesIO
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.fleet.own_files import ANSWER_MARK
from riskmodel.plan.budget.plan import Plan
from riskmodel.report.budget_left import named_work
from riskmodel.report.rank import boat_names, currency_of

# The same plan gives the same bytes: the book carries the oldest date its format knows, not the clock's.
UNDATED = datetime(1980, 1, 1)
# Columns no wider than this many characters: long words are cut by the sheet, not by us.
WIDEST = 60

Sheet = tuple[str, Sequence[tuple[str, str]], pd.DataFrame]


def plan_workbook(plan: Plan) -> bytes:
    """An .xlsx workbook of the plan: heads frozen and with their units, text never read as a formula.

    Money in the fleet's currency, chances as numbers between 0 and 1.
    """
    # Imported here because only this writes a workbook.
    from xlsxwriter import Workbook

    buffer = BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with Workbook(buffer, {**options, "strings_to_numbers": False}) as book:
        book.set_properties({"created": UNDATED, "comments": ANSWER_MARK})
        looks = {
            "head": book.add_format({"bold": True, "bottom": 2, "bg_color": "#DDDDDD", "text_wrap": True}),
            "text": book.add_format({"num_format": "@"}),
            "day": book.add_format({"num_format": "yyyy-mm-dd"}),
            "number": book.add_format({"num_format": "#,##0.00"}),
            "chance": book.add_format({"num_format": "0.000000"}),
        }
        for sheet in _sheets(plan):
            _write(book.add_worksheet(sheet[0]), sheet, looks)
    return buffer.getvalue()


def _sheets(plan: Plan) -> list[Sheet]:
    currency, until = currency_of(plan.result), plan.result.horizon.until
    work = [
        *(("boat", "boat"), ("date", "date"), ("part", "part"), ("do", "what to do"), ("skill", "who")),
        *(("reason", "why"), ("hours", "hours"), ("cost", f"cost, {currency}, without lift")),
        ("averted", f"loss averted by {until}, {currency}"),
        *(("averted_life", f"loss averted over the part's life, {currency}"), ("note", "note")),
        *(("vessel_id", "vessel_id"), ("item_id", "item_id"), ("task", "task")),
    ]
    boats = [("boat", "boat"), ("tasks", "tasks"), ("cost", f"cost, {currency}, with lifts")]
    for name, words in (("loss", f"expected loss {{}}, {currency}"), ("sinking", "chance of sinking {}")):
        boats += [(f"{name}_{when}", words.format(when)) for when in ("before", "after")]
    boats += [(f"sinking_before_{end}", f"sinking before, {at} %") for end, at in (("low", 5), ("high", 95))]
    floors = plan.floors.assign(met=plan.floors["met"].map({True: "yes", False: "no"}))
    more = [
        ("boat", "boat"),
        ("part", "part"),
        ("do", "what to do"),
        ("cost", f"cost, {currency}, without lift"),
    ]
    named = {name: named_work(plan, frame) for name, frame in _works(plan).items()}
    return [
        ("summary", [("what", "what"), ("amount", f"amount, {currency}")], _summary(plan)),
        ("work", work, named["work"]),
        (
            "lifts",
            [*boats[:1], ("date", "date"), ("cost", f"cost, {currency}")],
            _with_boats(plan, plan.lifts),
        ),
        ("boats", boats, _with_boats(plan, plan.vessels)),
        ("first", _first(currency), _with_boats(plan, floors)),
        (
            "would_pay",
            [*more, ("lift", f"lift, {currency}"), ("danger", "chance it kills or sinks")],
            named["would_pay"],
        ),
        ("instead", [("boat", "boat"), ("advice", "until then")], _with_boats(plan, plan.instead)),
        ("next", [*more, ("per_cost", f"averts, {currency} for 1 spent")], named["next"]),
        ("overdue", [*more, ("risk", "chance it sinks or kills")], named["overdue"]),
        ("no_hours", more, named["no_hours"]),
        ("curve", [(n, f"{w}, {currency}") for n, w in CURVE], plan.curve),
    ]


def _first(currency: str) -> list[tuple[str, str]]:
    """Columns of what came first."""
    first = [("boat", "boat"), ("kind", "danger"), ("limit", "limit, chance"), ("item_id", "item_id")]
    first += [("before", "chance before"), ("before_low", "before, 5 %"), ("before_high", "before, 95 %")]
    first += [("after", "chance after"), ("cost", f"cost, {currency}, with lift"), ("met", "met")]
    return first


CHANCES = ("limit", "before", "before_low", "before_high", "after", "danger", "risk")
CURVE = (("amount", "money given"), ("averted", "loss averted"), ("bound", "no plan averts more than"))


def _works(plan: Plan) -> dict[str, pd.DataFrame]:
    return {
        "work": plan.frame,
        "would_pay": plan.would_pay,
        "next": plan.next_best,
        "overdue": plan.overdue,
        "no_hours": plan.unplaced,
    }


def _with_boats(plan: Plan, frame: pd.DataFrame) -> pd.DataFrame:
    return frame.assign(boat=boat_names(plan.result, frame))


def _summary(plan: Plan) -> pd.DataFrame:
    rows = [
        (f"money given, {plan.result.horizon.as_of} to {plan.result.horizon.until}", plan.amount),
        ("cost of the plan, lifts in it", plan.cost),
        ("expected loss before, recomputed in full", plan.before),
        ("expected loss after, recomputed in full", plan.after),
        ("loss averted by single tasks, added up", plan.averted),
        ("no plan averts more than", plan.bound),
        ("what one more unit of money would avert", plan.shadow_price),
        ("all that comes first costs, lifts in it", plan.first_cost),
    ]
    cautions = [(each.text, np.nan) for each in plan.result.trade.cautions if each.topic == "foot"]
    notes = [(f"Note: {note.rstrip('.')}.", np.nan) for note in plan.result.notes]
    return pd.DataFrame([*rows, *notes, *cautions], columns=["what", "amount"])


def _write(sheet: Any, content: Sheet, looks: dict[str, Any]) -> None:
    _, columns, frame = content
    for place, (name, head) in enumerate(columns):
        sheet.write_string(0, place, head, looks["head"])
        values = frame[name].tolist()
        longest = max([len(head) // 2 + 2, *(len(str(value)) for value in values)], default=8)
        sheet.set_column(place, place, min(longest + 2, WIDEST))
        for row, value in enumerate(values, start=1):
            _cell(sheet, (row, place), value, (name, looks))
    sheet.freeze_panes(1, 1)


def _cell(sheet: Any, where: tuple[int, int], value: Any, how: tuple[str, dict[str, Any]]) -> None:
    """A cell of its own kind; text is written as text, whatever it starts with."""
    name, looks = how
    if isinstance(value, date):
        sheet.write_datetime(*where, datetime(value.year, value.month, value.day), looks["day"])
    elif isinstance(value, str):
        sheet.write_string(*where, value, looks["text"])
    elif value is not None and np.isfinite(value):
        chance = name in CHANCES or name.startswith("sinking")
        sheet.write_number(*where, value, looks["chance" if chance else "number"])
