"""riskmodel budget: the best plan for this money, and what the next money would buy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, say
from .files import refuse_files
from .fleets import can_draw, horizon_for, open_fleet, say_which
from .options import (
    AsOf,
    Debug,
    FleetPath,
    Format,
    Months,
    Out,
    OutFormat,
    Quiet,
    Raw,
    Seed,
    Strict,
    Top,
    Until,
    finite,
)
from .output import Sent, deliver, end, say_notes
from .suffixes import refuse_other_suffix
from .width import as_wide_as

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.plan import Plan

FLOORS_NOT_MET = 5


def budget(
    amount: Annotated[
        float,
        typer.Option("--amount", min=0, callback=finite, help="Money there is, in the fleet's currency."),
    ],
    fleet: FleetPath = None,
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    top: Top = 15,
    yard_hours: Annotated[
        float | None,
        typer.Option(
            "--yard-hours",
            min=0,
            callback=finite,
            help="Hours a month the yard has; the fleet's setting, else no limit.",
        ),
    ] = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    raw: Raw = False,
    figure: Annotated[
        Path | None,
        typer.Option(
            "--figure",
            dir_okay=False,
            help="Draw loss averted by amount to this .png, .pdf or .svg file too.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the files named by --out and --figure.")
    ] = False,
    seed: Seed = 1,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """What is the best plan for this money, and what would the next money buy? With --out NAME.xlsx as a workbook."""
    with edge(debug), as_wide_as(out):
        refuse_files({"--out": out, "--figure": figure}, fleet, force)
        refuse_other_suffix(out, form, (".xlsx",))
        tables = open_fleet(fleet, as_of)
        from riskmodel.plan import best_plan
        from riskmodel.risk import assess

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months), seed=seed)
        plan = best_plan(result, amount, yard_hours=yard_hours)
        if can_draw(result, figure):
            _draw(plan, figure)
        if out is not None and out.suffix.lower() == ".xlsx":
            _book(plan, out)
        else:
            deliver(_text(plan, top, form), Sent(out, form, raw))
        say_notes(result.notes, form, quiet)
        _end(plan, form is not Format.TABLE or out is not None)
        end(len(result.notes), strict)


def _draw(plan: Plan, figure: Path) -> None:
    from riskmodel.report.budget_figure import write_budget_figure

    write_budget_figure(figure, plan)


def _book(plan: Plan, out: Path) -> None:
    from riskmodel.atomic_write import atomic_write
    from riskmodel.report.plan_book import plan_workbook

    atomic_write(out, plan_workbook(plan))


def _text(plan: Plan, top: int, form: Format) -> str | pd.DataFrame:
    if form is Format.TABLE:
        from riskmodel.report.budget import budget_page

        return budget_page(plan, top)
    from riskmodel.report.rank import currency_of

    horizon = plan.result.horizon
    days = {"as_of": str(horizon.as_of), "until": str(horizon.until)}
    frame = plan.frame.drop(columns=["item", "vessel", "share", "finds"])
    frame = frame.assign(date=frame["date"].map(lambda day: "" if day is None else str(day)))
    money = ["cost", "averted", "averted_life", "hours"]
    return frame.round(dict.fromkeys(money, 2)).assign(**days, currency=currency_of(plan.result))


def _end(plan: Plan, unsaid: bool) -> None:
    """Exit code 5 when something that comes before money is not seen to; what to do instead, where no page says it."""
    if plan.satisfied:
        return
    if unsaid:
        from riskmodel.report.rank import boat_names

        for boat, advice in zip(boat_names(plan.result, plan.instead), plan.instead["advice"], strict=True):
            say(f"{boat}: {advice}.")
    say("No plan for this money satisfies what comes first.")
    raise typer.Exit(FLOORS_NOT_MET)
