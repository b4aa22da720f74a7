"""The ranking as a page of text: known defects, paths that can kill, then money, and two plain sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from riskmodel.consequence import fuel_and_openings
from riskmodel.frames import each_row
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.limits import none_over
from riskmodel.report.nothing_left import nothing_left_page
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk import Assessment
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT, MONEY
from riskmodel.words import band, chance_or_none, counted, limit_in, money, price, ratio, years

if TYPE_CHECKING:
    from riskmodel.exposure.policy_days import Insured

HEADS = {
    KNOWN_DEFECT: "BEFORE THE BOAT IS USED AGAIN: known defects, whatever their chance or price",
    CAN_KILL: "THEN: PATHS THAT CAN KILL, by chance and never by the value of the boat",
    MONEY: "THEN: WHERE THE NEXT MONEY GOES, by loss averted for each unit of cost",
}

NO_DEFECT = "None on record."
NOTHING_LEFT = "None: no part is left that stands in no list above."

OVERDUE = (
    "PAST THE MAKER'S OR TRADE'S RENEWAL AGE: renewed whatever they look like\n(at the ranks they have above)"
)
SUSPECT = (
    "FOUND SUSPECT, and not settled since: open up and decide, fuel and hull "
    "openings first (at the ranks they have below)"
)
UNSEEN = (
    "Lets go: the chance by the day above, in 1,000 such parts. For parts that fail unseen (pumps, switches, alarms, "
    "blowers, ducts, bedding) it counts from the last passed test or sound look on record, so it includes having "
    "failed already. Cost includes a haul-out where the task needs one, unless the boat lives ashore or is taken to "
    "be hauled yearly."
)


def rank_page(result: Assessment, top: int) -> str:
    """The whole report; at most ``top`` rows of each of the last two lists, and every known defect."""
    if left := nothing_left_page(result):
        return left
    frame = _named(result)
    currency = currency_of(result)
    parts = [heading(result.fleet.source, str(result.horizon.as_of), _until(result))]
    for group in (KNOWN_DEFECT, CAN_KILL, MONEY):
        rows = frame[frame["group"] == group]
        found = _section(group, rows, top, currency, result)
        parts.append(found or f"{HEADS[group]}\n{_none(group, frame, result)}")
        if group == KNOWN_DEFECT:
            parts.append(_suspect(frame, top, currency, result))
    parts.append(_overdue(frame, top, currency))
    parts.append(_closing(frame, currency, result))
    parts += [paragraph(UNSEEN), _of_weather(result), notes_block(result.notes), cautions_block(result.trade)]
    return "\n\n".join(part for part in parts if part) + "\n"


def currency_of(result: Insured) -> str:
    """The fleet's currency, else that of the trade tables."""
    return result.fleet.settings.currency or result.trade.haul_out.currency


def part_names(result: Assessment, frame: pd.DataFrame) -> pd.Series:
    """Plain names of parts: the class's label and where it sits."""
    labels = frame["item_class"].map({name: each.label for name, each in result.trade.classes.items()})
    return labels.where(frame["position"] == "", labels + ", " + frame["position"])


def boat_names(result: Insured, frame: pd.DataFrame) -> pd.Series:
    """Names of boats, or their ids where they have none."""
    boats = result.fleet.vessels.set_index("vessel_id")["name"]
    names = frame["vessel_id"].map(boats).fillna("")
    return names.where(names != "", frame["vessel_id"])


def _named(result: Assessment) -> pd.DataFrame:
    frame = result.frame
    part, boat = part_names(result, frame), boat_names(result, frame)
    return frame.assign(part=part, boat=boat, what=boat + ": " + part.str[0].str.lower() + part.str[1:])


def _until(result: Assessment) -> str:
    return f"{result.horizon.until} ({result.horizon.wording})"


def _section(group: str, rows: pd.DataFrame, top: int, currency: str, result: Assessment) -> str:
    """A list with its head; empty where there is nothing to list."""
    if rows.empty:
        return ""
    limit = f"\nListed here when the chance is over {limit_in(result.limit)}."
    head = HEADS[group] + (limit if group == CAN_KILL else "")
    if group == KNOWN_DEFECT:
        return head + "\n\n" + _defects(rows, currency)
    shown = rows.head(top)
    more = len(rows) - len(shown)
    tail = f"\n({more} more: ask for --top {len(rows)}, or --format csv for all.)" if more else ""
    table = _kill_table(shown, currency) if group == CAN_KILL else _money_table(shown, currency)
    return head + "\n\n" + table + tail


def _none(group: str, frame: pd.DataFrame, result: Assessment) -> str:
    """What to say of an empty list: whether nothing is known, nothing is over the limit, or nothing is left."""
    if group == KNOWN_DEFECT:
        return NO_DEFECT
    return paragraph(none_over(frame, result)) if group == CAN_KILL else NOTHING_LEFT


def _suspect(frame: pd.DataFrame, top: int, currency: str, result: Assessment) -> str:
    """Parts last found suspect and not settled since: no number makes up for a closer look.

    Fuel and hull openings stand first, then the most dangerous.
    """
    where = result.standing.set_index("item_id").loc[frame["item_id"]].reset_index()
    risk = np.maximum(frame["sinking_probability"], frame["kill_probability"])
    open_ = (where["found"] == "suspect").to_numpy() & (frame["group"] != KNOWN_DEFECT).to_numpy()
    first = frame["item_class"].isin(fuel_and_openings(result.trade))
    rows = frame.assign(risk=risk, first=first, found_on=where["looked_on"].to_numpy())[open_]
    if rows.empty:
        return ""
    rows = rows.sort_values(["first", "risk"], ascending=False, kind="stable")
    columns = [
        Column("Rank", number=True),
        Column("Boat: part"),
        Column("Found\nsuspect"),
        Column("Sinks or kills,\nin 1,000", number=True),
        Column("Do, after\na closer look"),
        Column(f"Cost\n{currency}", number=True),
    ]
    cells = [
        (str(r.rank), r.what, f"{r.found_on:%Y-%m}", chance_or_none(r.risk), _task(r), price(r.task_cost))
        for r in each_row(rows.head(top))
    ]
    more = len(rows) - len(cells)
    tail = f"\n({more} more: ask for --top {len(rows)}.)" if more > 0 else ""
    return f"{paragraph(SUSPECT)}\n\n{text_table(columns, cells)}{tail}"


def _overdue(frame: pd.DataFrame, top: int, currency: str) -> str:
    """Age-renewed parts past their age that can sink the boat or kill, likeliest first; they keep their ranks above."""
    risk = np.maximum(frame["sinking_probability"], frame["kill_probability"])
    rows = frame.assign(risk=risk)[frame["overdue"] & (frame["group"] == MONEY)]
    if rows.empty:
        return ""
    rows = rows.sort_values("risk", ascending=False, kind="stable")
    columns = [
        Column("Rank", number=True),
        Column("Boat: part"),
        Column("Age,\nyears", number=True),
        Column("Sinks or kills,\nin 1,000", number=True),
        Column("Do"),
        Column(f"Cost\n{currency}", number=True),
    ]
    cells = [
        (
            str(r.rank),
            r.what,
            years(r.age_years),
            chance_or_none(r.risk),
            _task(r),
            price(r.task_cost),
        )
        for r in each_row(rows.head(top))
    ]
    more = len(rows) - len(cells)
    tail = f"\n({more} more: ask for --top {len(rows)}.)" if more > 0 else ""
    return f"{OVERDUE}\n\n{text_table(columns, cells)}{tail}"


def _defects(rows: pd.DataFrame, currency: str) -> str:
    columns = [
        Column("Rank", number=True),
        Column("Boat: part"),
        Column("What is known"),
        Column("Do"),
        Column(f"Cost\n{currency}", number=True),
    ]
    cells = [(str(r.rank), r.what, r.defect, _task(r), price(r.task_cost)) for r in each_row(rows)]
    return text_table(columns, cells)


def _kill_table(rows: pd.DataFrame, currency: str) -> str:
    columns = [
        Column("Rank (90 %)", number=True),
        Column("Boat: part"),
        Column("Can kill,\nin 1,000 (90 %)", number=True),
        Column("Lets go,\nin 1,000 (90 %)", number=True),
        Column("Do"),
        Column(f"Cost\n{currency}", number=True),
    ]
    cells = [
        (
            _rank(row),
            row.what,
            band(row.kill_probability, row.kill_low, row.kill_high),
            band(row.failure_probability, row.failure_low, row.failure_high),
            _task(row),
            price(row.task_cost),
        )
        for row in each_row(rows)
    ]
    return text_table(columns, cells)


def _money_table(rows: pd.DataFrame, currency: str) -> str:
    columns = [
        Column("Rank (90 %)", number=True),
        Column("Boat: part, and what to do"),
        Column("Lets go,\nin 1,000 (90 %)", number=True),
        Column(f"Cost\n{currency}", number=True),
        Column(f"Averts\n{currency}", number=True),
        Column("Per 1\nspent", number=True),
    ]
    cells = [
        (
            _rank(row),
            f"{row.what}: {_task(row)}",
            band(row.failure_probability, row.failure_low, row.failure_high),
            price(row.task_cost),
            money(row.loss_averted),
            ratio(row.averted_per_cost),
        )
        for row in each_row(rows)
    ]
    return text_table(columns, cells)


def _rank(row: Any) -> str:
    return f"{row.rank} ({row.rank_low}-{row.rank_high})"


def _closing(frame: pd.DataFrame, currency: str, result: Assessment) -> str:
    """Two plain sentences: what to do first, and what that buys."""
    first, killing = frame.iloc[0], frame[frame["group"] == CAN_KILL]
    defects = int((frame["group"] == KNOWN_DEFECT).sum())
    seen_to = f"see to the {counted(len(killing), 'part')} on paths that can kill{_from(killing)}"
    if defects:
        listed = counted(defects, "known defect")
        start = f"First put right the {listed} above, starting with {first.boat}'s {first.part.lower()}"
        start += f", then {seen_to}" if len(killing) else ""
    else:
        start = (
            f"First {seen_to}"
            if len(killing)
            else f"First {_task(first)}: {first.boat}'s {first.part.lower()}"
        )
    tasks = frame[frame["group"] == MONEY]
    tasks = tasks[tasks["loss_averted"] > tasks["task_cost"]].head(10)
    if tasks.empty:
        return paragraph(
            f"{start}. Beyond that no task averts more loss by {result.horizon.until} than it costs."
        )
    boats = tasks["vessel_id"].nunique()
    then = (
        f"Then {_first_of(len(tasks))} of the money list, more averted than spent, on {counted(boats, 'boat')}, "
        f"cost about {currency} {money(tasks['task_cost'].sum())} together and avert about "
        f"{currency} {money(tasks['loss_averted'].sum())} of expected loss by {result.horizon.until}, before insurance"
    )
    return paragraph(f"{start}. {then}.")


def _from(killing: pd.DataFrame) -> str:
    """Which part to begin with, of those on paths that can kill."""
    if killing.empty:
        return ""
    named = killing.iloc[0]
    part = f"{named.boat}'s {named.part.lower()}"
    return f", from {part} on" if len(killing) > 1 else f", {part}"


def _first_of(number: int) -> str:
    return "the first task" if number == 1 else f"the first {number} tasks"


def _of_weather(result: Assessment) -> str:
    """What sinks boats though no part lets go, so that the parts' share of all sinkings is honest."""
    weather = float(result.background.get("sinking_unattended", pd.Series([0.0])).sum())
    both = weather + float(result.frame["sinking_probability"].sum())
    if weather <= 0:
        return ""
    share = 100 * weather / both
    said = "under 1 %" if share < 1 else f"about {min(round(share), 99)} %"
    return paragraph(
        f"Rain, snow and waves over a low transom, which no part brings about, make up {said} of the sinkings to be "
        "expected: they stand in no list, but count for the pumps that hold them off."
    )


def _task(row: Any) -> str:
    """What to do, and how often over the horizon: the cost beside it is that of every time."""
    often = f", {row.task_looks} times" if row.task_looks > 1 else ""
    return f"{row.best_task.replace('_', ' ')}{often}"
