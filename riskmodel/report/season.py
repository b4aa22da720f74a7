"""One boat's season as a page of text: what may happen month by month, a calendar, and what to have at hand."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.season.calendar import (
    BEFORE_USE,
    FIRST_TRIP,
    HAUL_OUT,
    IN_WATER,
    SeasonCalendar,
    group_label,
)
from riskmodel.plan.season.materials import season_materials
from riskmodel.plan.season.season import ANY_SINKING, Season
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.rank import currency_of, part_names
from riskmodel.report.season_limits import limits_block
from riskmodel.report.season_parts import APART, states_that_matter, vessel_name
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk.ranking import KNOWN_DEFECT
from riskmodel.words import LEAST_SAID, band, chance_or_none, price

HEADS = {
    BEFORE_USE: "BEFORE THE BOAT IS USED AGAIN: known defects, whatever their chance or price",
    FIRST_TRIP: "BEFORE THE {first} TRIP",
    HAUL_OUT: "{name} ({how})",
    IN_WATER: "{name}",
}
NO_DEFECT = "None on record."
# After known defects, of a boat that lies afloat while nobody uses it.
AS_PRESSING = (
    "As pressing: what is over a limit or was found suspect and may sink the boat or kill: it lies afloat."
)
EVERY_TRIP = "EVERY TRIP"
ADVICE = (
    "A small number is no leave to put off a task below, and a clean look none to keep rubber past the maker's or the "
    "trade's renewal age."
)
NO_PERIODS = (
    "No periods are given: the boat is taken to lie all year as it is kept; a table of periods would tell."
)
# Chances in one month are small: they are said in this many boats.
IN_MONTH = 10_000
# Units of amounts that are measured; all others are counted in whole pieces.
MEASURED = ("m", "kg")


def season_page(season: Season, calendar: SeasonCalendar, top: int) -> str:
    """The whole page, wrapped to 80 columns; at most ``top`` parts in the list of what matters most."""
    result, currency = season.result, currency_of(season.result)
    horizon = season.horizon
    parts = [
        heading(result.fleet.source, str(horizon.as_of), f"{horizon.until} ({horizon.wording})"),
        f"THE SEASON OF {vessel_name(season).upper()}\n{_boat(season)}",
        _tasks(BEFORE_USE, calendar, season, currency) or f"{HEADS[BEFORE_USE]}\n{NO_DEFECT}",
        limits_block(season),
        _totals(season),
        _months(season, calendar),
        _top(season, top, currency),
        *(_tasks(group, calendar, season, currency) for group in (FIRST_TRIP, HAUL_OUT, IN_WATER)),
        f"{EVERY_TRIP}\n" + "\n".join(paragraph(f"- {line}", indent="  ") for line in calendar.every_trip),
        _materials(season, calendar),
        notes_block(result.notes),
        cautions_block(result.trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def about_band(chance: float, low: float, high: float) -> str:
    """A chance as a frequency with its 90 % band: "about 3 in 1,000 (1 to 8)", "under 1 in 10,000"."""
    base = next((base for least, base in ((0.1, 100), (0.001, 1000), (1e-4, 10_000)) if chance >= least), 0)
    if not base:
        return "under 1 in 10,000"
    number = min(max(round(chance * base), 1), base - 1)
    ends = [str(round(end * base)) if end * base >= 1 else "under 1" for end in (low, high)]
    return f"about {number} in {base:,} ({ends[0]} to {ends[1]})"


def mine_and_typical(season: Season, end_state: str) -> tuple[str, str]:
    """The chance of an end state over the season with its band, for this boat and the typical one, in words."""
    row = season.totals.set_index("end_state").loc[[end_state]].to_dict("records")[0]
    mine = about_band(row["chance"], row["low"], row["high"])
    return mine, about_band(row["typical"], row["typical_low"], row["typical_high"])


def in_month(chance: float) -> str:
    """A chance in a month as a number in IN_MONTH: "12", "2.3", "<1"; "-" where there is no path at all."""
    number = chance * IN_MONTH
    if number <= 0:
        return "-"
    if number < 1:
        return "<1"
    return f"{number:.2g}" if number < 10 else f"{number:,.0f}"


def _boat(season: Season) -> str:
    """The boat in a line, and that its parts are assumed where nobody has listed them."""
    boat = season.result.fleet.vessels.iloc[0]
    kind = season.result.trade.propulsions[boat["propulsion"]].label
    built = "build year unknown" if np.isnan(boat["built_year"]) else f"built {boat['built_year']:.0f}"
    said = f"{kind}, {boat['length_m']:g} m, {built}, kept {boat['kept']}."
    if season.result.frame["assumed"].any():
        said += " Its parts are not listed: a typical outfit is assumed; pass over what is not fitted."
    return paragraph(said)


def _totals(season: Season) -> str:
    """Every end state over the season, beside the typical boat; sinking in a sentence first."""
    totals = season.totals.set_index("end_state")
    mine, other = mine_and_typical(season, ANY_SINKING)
    said = paragraph(
        f"Sinking, at rest or under way: {mine} such boats by {season.horizon.until}, beside {other} of typical boats: "
        "same kind, age, length, berth and season, with the usual outfit of unknown age, looked after as is usual. In "
        "brackets the 90 % band of what is not known about parts and consequences. "
        f"{'The parts assumed' if season.result.frame['assumed'].any() else 'The parts listed'} are counted, and rain, "
        "snow and waves."
    )
    rows = totals.drop(index=[ANY_SINKING, "nuisance"], errors="ignore")
    rows = rows.sort_values("can_kill", ascending=False, kind="stable")
    columns = [Column("What may happen"), Column("This boat,\nin 1,000 (90 %)", number=True)]
    columns += [Column("Typical boat,\nin 1,000 (90 %)", number=True), Column("Can kill")]
    cells = [
        (
            row.label,
            _or_no_path(row.chance, row.low, row.high),
            _or_no_path(row.typical, row.typical_low, row.typical_high),
            "yes" if row.can_kill else "hurts people" if row.Index == "injury" else "",
        )
        for row in each_row(rows)
    ]
    return f"WHAT MAY HAPPEN BY {season.horizon.until}\n\n{said}\n\n{text_table(columns, cells)}\n\n{paragraph(ADVICE)}"


def _or_no_path(chance: float, low: float, high: float) -> str:
    return band(chance, low, high) if chance > 0 else "does not apply"


def _months(season: Season, calendar: SeasonCalendar) -> str:
    states, months = states_that_matter(season), season.months
    if not states:
        return ""
    label = season.totals.set_index("end_state")["label"]
    columns = [
        Column("Month"),
        *(Column("\n".join(textwrap.wrap(label[name], 10)), number=True) for name in states),
    ]
    cells = [
        (
            f"{row['start']:%b %Y}{'' if calendar.dates.in_season(row['start']) else ' *'}",
            *(in_month(row[name]) for name in states),
        )
        for row in months.to_dict("records")
    ]
    cells.append(("Together", *(in_month(months[name].sum()) for name in states)))
    told = [
        f"In {IN_MONTH:,} such boats in each month, by when parts let go and how the boat spends the month."
    ]
    if any(cell[0].endswith("*") for cell in cells):
        told.append("* begins out of season.")
    periods = season.result.fleet.periods
    if not periods["vessel_id"].eq(season.vessel_id).any():
        told.append(NO_PERIODS)
    told += left_out_of_months(season)
    told.append("What has gone already, unseen or known, does its harm in the first month in which it can.")
    told.append("No month is surer than the whole: the bands above go for each in proportion.")
    return f"MONTH BY MONTH, in {IN_MONTH:,}\n\n{text_table(columns, cells)}\n\n{paragraph(' '.join(told))}"


def left_out_of_months(season: Season) -> list[str]:
    """Which end states have no column of their own: those too rare, and those that there is no room for."""
    totals = season.totals[season.totals["end_state"].isin(season.months.columns)]
    apart = totals[~totals["end_state"].isin([*states_that_matter(season), *APART]) & (totals["chance"] > 0)]
    rare = apart["chance"] < LEAST_SAID
    said = (
        ("Under 1 in 10,000 over the whole time", apart.loc[rare, "label"]),
        ("No room here, see --format csv for their months", apart.loc[~rare, "label"]),
    )
    return [f"{what}: {', '.join(labels)}." for what, labels in said if len(labels)]


def _top(season: Season, top: int, currency: str) -> str:
    frame = season.result.frame
    shown = frame.head(top)
    columns = [
        *(Column("Rank", number=True), Column("Part"), Column("Sinks or\nkills,\nin 1,000", number=True)),
        *(
            Column("Lets go,\nin 1,000 (90 %)", number=True),
            Column("Do"),
            Column(f"Cost\n{currency}", number=True),
        ),
    ]
    cells = [
        (
            str(row.rank),
            name,
            chance_or_none(max(row.sinking_probability, row.kill_probability)),
            band(row.failure_probability, row.failure_low, row.failure_high),
            row.best_task.replace("_", " "),
            price(row.task_cost),
        )
        for row, name in zip(each_row(shown), part_names(season.result, shown), strict=True)
    ]
    more = len(frame) - len(shown)
    tail = f"\n({more} more: ask for --top {len(frame)}.)" if more else ""
    head = "WHAT MATTERS MOST: known defects, then what can kill, then money"
    return f"{head}\n\n{text_table(columns, cells)}{tail}"


def _tasks(group: str, calendar: SeasonCalendar, season: Season, currency: str) -> str:
    """The tasks of a group, like parts and repeated days in one row; empty where there are none."""
    tasks = calendar.tasks[calendar.tasks["group"] == group]
    if tasks.empty:
        return ""
    first = "NEXT" if calendar.dates.first_trip == calendar.dates.today else "FIRST"
    name = group_label(group, calendar.dates).upper()
    head = HEADS[group].format(first=first, how=calendar.dates.haul_out_told, name=name)
    if group == BEFORE_USE:
        head += _as_pressing(tasks, season)
    if group == FIRST_TRIP and first == "FIRST":
        head += f" ({calendar.dates.first_trip}), or by the day given"
    columns = [
        Column("By"),
        Column("What to do"),
        Column("Who"),
        Column("Why"),
        Column(f"Cost\n{currency}", number=True),
    ]
    return f"{head}\n\n{text_table(columns, [_task_row(rows, season) for rows in _alike(tasks)])}"


def _as_pressing(tasks: pd.DataFrame, season: Season) -> str:
    """What stands beside the known defects, or without any, though it is none."""
    frame = season.result.frame
    defects = frame.loc[frame["group"] == KNOWN_DEFECT, "item_id"]
    none = [] if tasks["item_id"].isin(defects).any() else [NO_DEFECT]
    other = [] if tasks["item_id"].isin(defects).all() else [AS_PRESSING]
    return "".join(f"\n{paragraph(line)}" for line in (*none, *other))


def _alike(tasks: pd.DataFrame) -> list[pd.DataFrame]:
    """Tasks that stand in one row: the same work on parts of one class on the same days for the same kind of reason."""
    days = tasks.groupby(["item_id", "task"])["due"].transform(lambda due: " ".join(map(str, due)))
    kind = tasks["why"].str.split("[:;]").str[0].where(tasks["does"] != "inspect", "")
    keyed = tasks.assign(days=days, kind=kind.where(tasks["does"] == "renew", ""))
    return [rows for _, rows in keyed.groupby(["item_class", "task", "days", "kind"], sort=False)]


def _task_row(rows: pd.DataFrame, season: Season) -> tuple[str, ...]:
    first = rows.iloc[0]
    ids = rows.drop_duplicates("item_id")
    label = season.result.trade.classes[first["item_class"]].label
    places = [place for place in ids["position"] if place]
    where = f", {', '.join(places)}" if len(places) == len(ids) else f" ({len(ids)})" if len(ids) > 1 else ""
    days = sorted(set(rows["due"]))
    by = ", ".join(
        [str(days[0]), *(f"{day:%m-%d}" if day.year == days[0].year else str(day) for day in days[1:])]
    )
    return (
        by,
        f"{label}{where}: {first['task'].replace('_', ' ')}",
        str(first["skill"]),
        _why(ids),
        price(float(rows["cost"].sum())),
    )


def _why(ids: pd.DataFrame) -> str:
    """The reasons of rows told as one: a look's interval once, a renewal's reasons each."""
    if ids["does"].iloc[0] == "renew":
        return "; ".join(dict.fromkeys(why.removeprefix("known defect: ") for why in ids["why"]))
    said = list(dict.fromkeys(why.split(";")[0] for why in ids["why"]))
    # Of like parts some renewed and some not the interval is said once.
    said = list(dict.fromkeys(why.removesuffix(" once renewed") for why in said)) if len(said) > 1 else said
    dates = ids["why"].str.contains("look for a date").any()
    return "; ".join([*said, *(["find its date"] if dates else [])])


def _materials(season: Season, calendar: SeasonCalendar) -> str:
    frame = season_materials(calendar.tasks, season.result)
    head = "TO HAVE AT HAND: parts and materials for the work above"
    if frame.empty:
        return f"{head}\nNone."
    columns = [Column("Need by"), Column("What"), Column("How much"), Column("For")]
    cells = [(str(row.need_by), row.material, amount(row), row.used_for) for row in each_row(frame)]
    told = "Sizes and kinds are those of the part in place and of its maker; amounts are judged: measure before buying."
    return f"{head}\n\n{text_table(columns, cells)}\n\n{paragraph(told)}"


def amount(row: Any) -> str:
    """How much of a material, in words: "4 clamps", "2 to 6 m", "1 tube"; what is counted is rounded up."""
    counted = row.unit not in MEASURED
    low, high = (float(np.ceil(end)) if counted else round(end, 2) for end in (row.low, row.high))
    unit = row.unit.removesuffix("s") if counted and high == 1 else row.unit
    return f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"
