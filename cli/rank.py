"""riskmodel rank: what fails, what follows, and where the next unit of money goes first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, refuse
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
)
from .output import Sent, deliver, end, say_notes
from .suffixes import refuse_other_suffix
from .width import as_wide_as

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.fleet import Fleet
    from riskmodel.risk import Assessment


def rank(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    top: Top = 15,
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="CHANGE",
            help="What if: COLUMN=VALUE of every boat, fit=CLASS, renew=CLASS>YEARS; BOAT: before it for one boat. "
            "Shows the difference; may be given several times.",
        ),
    ] = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    raw: Raw = False,
    levels: Annotated[
        bool, typer.Option("--levels", help="Parts by probability level and severity category, instead.")
    ] = False,
    figure: Annotated[
        Path | None,
        typer.Option(
            "--figure", dir_okay=False, help="With --levels, draw to this .png, .pdf or .svg file too."
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
    """What fails, what follows, and where does the next unit of money go first?"""
    with edge(debug), as_wide_as(out):
        if figure is not None and not levels:
            raise refuse("--figure needs --levels: it draws that table")
        refuse_files({"--out": out, "--figure": figure}, fleet, force)
        refuse_other_suffix(out, form)
        if changes and levels:
            raise refuse("give --set or --levels, not both")
        tables = open_fleet(fleet, as_of)
        from riskmodel.risk import assess

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months), seed=seed)
        if can_draw(result, figure):
            _draw(result, figure)
        if changes:
            answer = _what_if(result, tables, changes, (top, form))
        else:
            answer = _levels(result, top, form) if levels else _text(result, top, form)
        deliver(answer, Sent(out, form, raw))
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)


def _draw(result: Assessment, figure: Path) -> None:
    from riskmodel.report.severity_figure import write_levels_figure

    write_levels_figure(figure, result)


def _text(result: Assessment, top: int, form: Format) -> str | pd.DataFrame:
    from riskmodel.report.rank import rank_page

    return rank_page(result, top) if form is Format.TABLE else _dated(result)


def _what_if(
    result: Assessment, fleet: Fleet, changes: list[str], shown: tuple[int, Format]
) -> str | pd.DataFrame:
    from riskmodel.plan.what_if import by_boat, read_change, what_if
    from riskmodel.report.what_if import what_if_page

    top, form = shown
    difference = what_if(result, fleet, tuple(read_change(text) for text in changes))
    return what_if_page(difference, top) if form is Format.TABLE else by_boat(difference)


def _levels(result: Assessment, top: int, form: Format) -> str | pd.DataFrame:
    from riskmodel.report.severity_parts import levels_frame
    from riskmodel.report.severity_view import levels_page

    if form is Format.TABLE:
        return levels_page(result, top)
    return _days(result, levels_frame(result).round({"loss": 2}))


def _dated(result: Assessment) -> pd.DataFrame:
    """The item risk frame as a file stands alone: with the days it spans and its currency, money to the cent."""
    money = ["expected_loss", "loss_low", "loss_high", "task_cost", "haul_out_cost", "loss_averted"]
    return _days(result, result.frame.round(dict.fromkeys(money, 2)))


def _days(result: Assessment, frame: pd.DataFrame) -> pd.DataFrame:
    from riskmodel.report.rank import currency_of

    days = {"as_of": str(result.horizon.as_of), "until": str(result.horizon.until)}
    return frame.assign(**days, currency=currency_of(result))
