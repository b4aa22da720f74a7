"""riskmodel lives: what trade intervals and records say about each class's life."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, refuse
from .files import refuse_files
from .fleets import horizon_for, open_fleet, say_which
from .options import AsOf, Debug, FleetPath, Format, Months, Out, OutFormat, Quiet, Raw, Strict, Until
from .output import Sent, deliver, end, say_notes
from .suffixes import refuse_other_suffix, refuse_unless
from .width import as_wide_as

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.risk import Assessment


def lives(
    fleet: FleetPath = None,
    item_class: Annotated[str, typer.Option("--item-class", help="One class in full, with sources.")] = "",
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    raw: Raw = False,
    rows: Annotated[
        bool, typer.Option("--rows", help="Each recorded life beside the row it became, instead.")
    ] = False,
    intervals: Annotated[
        bool,
        typer.Option("--intervals", help="When to renew and how often to look, against the trade, instead."),
    ] = False,
    by: Annotated[
        str,
        typer.Option(
            "--by", help="With --intervals: vessel columns that tell circumstances apart, as propulsion,kept."
        ),
    ] = "",
    figure: Annotated[
        Path | None,
        typer.Option("--figure", dir_okay=False, help="Draw to this .png, .pdf or .svg file too."),
    ] = None,
    save: Annotated[
        Path | None, typer.Option("--save", dir_okay=False, help="Keep the lives in this JSON file too.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the files named by --out, --figure and --save.")
    ] = False,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """What do the trade intervals and my own records say about each class's life?"""
    with edge(debug), as_wide_as(out):
        refuse_files({"--out": out, "--figure": figure, "--save": save}, fleet, force)
        refuse_other_suffix(out, form)
        refuse_unless(save, Format.JSON)
        _refuse_pages(rows, intervals, by)
        tables = open_fleet(fleet, as_of)
        from riskmodel.report.lives import unknown_class
        from riskmodel.risk import assess

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months))
        if item_class and item_class not in result.lives.posterior:
            raise refuse(unknown_class(item_class, result.lives.posterior))
        if figure is not None:
            _draw(result, item_class, figure)
        if save is not None:
            _save(result, item_class, save)
        if intervals:
            text = _intervals(result, item_class, by, form)
        else:
            text = _rows(result, item_class, form) if rows else _text(result, item_class, form)
        deliver(text, Sent(out, form, raw))
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)


def _rows(result: Assessment, item_class: str, form: Format) -> str | pd.DataFrame:
    from riskmodel.report.life_rows import rows_frame, rows_page

    frame = rows_frame(result.lives, item_class)
    if form is not Format.TABLE:
        return frame
    return rows_page(frame, (result.fleet.source, str(result.fleet.as_of), str(result.horizon.until)))


def _intervals(result: Assessment, item_class: str, by: str, form: Format) -> str | pd.DataFrame:
    from riskmodel.plan.intervals.table import intervals_table
    from riskmodel.report.intervals import intervals_page
    from riskmodel.report.nothing_left import nothing_left_page

    columns = [name.strip() for name in by.split(",") if name.strip()]
    frame = intervals_table(result, by=columns)
    if item_class:
        frame = frame[frame["item_class"] == item_class].reset_index(drop=True)
    if form is not Format.TABLE:
        # No age or interval pays where it is infinite: an empty cell in csv as in json, and the words say why.
        return frame.replace(float("inf"), float("nan"))
    where = (result.fleet.source, str(result.fleet.as_of), str(result.horizon.until))
    return nothing_left_page(result) or intervals_page(frame, result.trade, where, result.notes)


def _refuse_pages(rows: bool, intervals: bool, by: str) -> None:
    """Usage error for two pages at once, or for circumstances that no page tells apart."""
    if rows and intervals:
        raise refuse("--rows and --intervals are two pages: ask for one")
    if by and not intervals:
        raise refuse("--by goes with --intervals")


def _draw(result: Assessment, item_class: str, figure: Path) -> None:
    from riskmodel.report.lives_figure import write_life_figure, write_lives_figures

    if item_class:
        write_life_figure(figure, item_class, result.lives, result.trade)
    else:
        write_lives_figures(figure, result.lives, result.trade)


def _save(result: Assessment, item_class: str, save: Path) -> None:
    from riskmodel.life.saving import save_lives

    lives = result.lives.posterior
    chosen = {item_class: lives[item_class]} if item_class else lives
    save_lives(
        chosen, save, origin=f"{result.fleet.source}, seen on {result.fleet.as_of}", notes=result.notes
    )


def _text(result: Assessment, item_class: str, form: Format) -> str | pd.DataFrame:
    from riskmodel.report.lives import class_page, lives_frame, lives_page

    where = (result.fleet.source, str(result.fleet.as_of), str(result.horizon.until))
    if form is not Format.TABLE:
        frame = lives_frame(result.lives, result.trade)
        return frame[frame["item_class"] == item_class] if item_class else frame
    if item_class:
        return class_page(item_class, result.lives, result.trade, where)
    return lives_page(result.lives, result.trade, where, result.notes)
