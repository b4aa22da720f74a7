"""riskmodel rank: what fails, what follows, and where the next unit of money goes first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, refuse
from .fleets import horizon_for, open_fleet, say_which
from .options import AsOf, Debug, FleetPath, Format, Months, Out, OutFormat, Quiet, Seed, Strict, Until
from .output import deliver, end, frame_text, refuse_overwriting, say_notes, write_whole

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.fleet import Fleet
    from riskmodel.risk import Assessment


def rank(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    top: Annotated[int, typer.Option("--top", min=1, help="Rows of each list to show.")] = 15,
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
    with edge(debug):
        _refuse_files(out, figure, levels, force)
        if changes and levels:
            raise refuse("give --set or --levels, not both")
        tables = open_fleet(fleet, as_of)
        from riskmodel.risk import assess

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months), seed=seed)
        if figure is not None:
            _draw(result, figure)
        if changes:
            text = _what_if(result, tables, changes, (top, form))
        else:
            text = _levels(result, top, form) if levels else _text(result, top, form)
        deliver(text, out, force)
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)


def _refuse_files(out: Path | None, figure: Path | None, levels: bool, force: bool) -> None:
    """Usage error for a figure of nothing or a file that may not be written, before any work is done."""
    if figure is not None:
        from riskmodel.report.lives_figure import figure_kind

        figure_kind(figure)
        if not levels:
            raise refuse("--figure needs --levels: it draws that table")
        if out is not None and out.absolute() == figure.absolute():
            raise refuse("--out and --figure must name different files")
    for path in (out, figure):
        refuse_overwriting(path, force)


def _draw(result: Assessment, figure: Path) -> None:
    from riskmodel.report.severity_figure import write_levels_figure

    write_whole(figure, lambda path: write_levels_figure(path, result))


def _text(result: Assessment, top: int, form: Format) -> str:
    from riskmodel.report.rank import rank_page

    return rank_page(result, top) if form is Format.TABLE else frame_text(_dated(result), form)


def _what_if(result: Assessment, fleet: Fleet, changes: list[str], shown: tuple[int, Format]) -> str:
    from riskmodel.plan.what_if import by_boat, read_change, what_if
    from riskmodel.report.what_if import what_if_page

    top, form = shown
    difference = what_if(result, fleet, tuple(read_change(text) for text in changes))
    return what_if_page(difference, top) if form is Format.TABLE else frame_text(by_boat(difference), form)


def _levels(result: Assessment, top: int, form: Format) -> str:
    from riskmodel.report.severity_parts import levels_frame
    from riskmodel.report.severity_view import levels_page

    if form is Format.TABLE:
        return levels_page(result, top)
    return frame_text(_days(result, levels_frame(result).round({"loss": 2})), form)


def _dated(result: Assessment) -> pd.DataFrame:
    """The item risk frame as a file stands alone: with the days it spans and its currency, money to the cent."""
    money = ["expected_loss", "loss_low", "loss_high", "task_cost", "haul_out_cost", "loss_averted"]
    return _days(result, result.frame.round(dict.fromkeys(money, 2)))


def _days(result: Assessment, frame: pd.DataFrame) -> pd.DataFrame:
    from riskmodel.report.rank import currency_of

    days = {"as_of": str(result.horizon.as_of), "until": str(result.horizon.until)}
    return frame.assign(**days, currency=currency_of(result))
