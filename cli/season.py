"""riskmodel season: one boat's coming season, month by month, with a calendar of what to do."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, refuse
from .files import refuse_files
from .fleets import horizon_for, open_fleet, say_which
from .options import MOST, AsOf, Debug, Format, Months, Out, OutFormat, Quiet, Raw, Seed, Strict, Until
from .output import Sent, deliver, end, say_notes
from .suffixes import refuse_other_suffix
from .width import as_wide_as

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.fleet import Fleet
    from riskmodel.plan.season.calendar import SeasonCalendar
    from riskmodel.plan.season.season import Season


# So many boats are named to choose from.
NAMED = 30


class Listed(StrEnum):
    """Which of the season's tables csv and json hold."""

    MONTHS = "months"
    TOTALS = "totals"
    TASKS = "tasks"
    MATERIALS = "materials"


def season(
    where: Annotated[
        list[str],
        typer.Argument(
            metavar="[FLEET] VESSEL",
            help="The fleet and the boat's id in it. By itself: a fleet of one boat, or a boat of the demo.",
        ),
    ],
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    top: Annotated[
        int, typer.Option("--top", min=1, max=MOST, help="Rows of the list of what matters most.")
    ] = 10,
    form: OutFormat = Format.TABLE,
    listed: Annotated[
        Listed, typer.Option("--list", help="The table that csv or json holds.")
    ] = Listed.MONTHS,
    out: Out = None,
    raw: Raw = False,
    figure: Annotated[
        Path | None,
        typer.Option("--figure", dir_okay=False, help="Draw to this .png, .pdf or .svg file too."),
    ] = None,
    calendar: Annotated[
        Path | None,
        typer.Option("--calendar", dir_okay=False, help="Write the tasks to this .ics calendar file too."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the files named by --out, --figure and --calendar.")
    ] = False,
    seed: Seed = 1,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """What may happen to my boat this season, and what do I do when?"""
    with edge(debug), as_wide_as(out):
        path = _fleet_named(where)
        refuse_files({"--out": out, "--figure": figure, "--calendar": calendar}, path, force)
        refuse_other_suffix(out, form)
        tables = open_fleet(path, as_of)
        from riskmodel.plan.season.calendar import season_calendar
        from riskmodel.plan.season.season import season_of

        boat = where[1] if len(where) == 2 else _only_boat(tables, path, where[0])
        say_which(tables, path, quiet)
        horizon = horizon_for(tables, until, months) if until or months else None
        found = season_of(tables, boat, horizon, seed=seed)
        work = season_calendar(found.result)
        _write_files(found, work, figure, calendar)
        deliver(_text(found, work, (top, form, listed)), Sent(out, form, raw))
        say_notes(found.result.notes, form, quiet)
        end(len(found.result.notes), strict)


def _fleet_named(where: list[str]) -> Path | None:
    """The fleet among one or two words; a word by itself is one if there is such a path, else a boat of the demo."""
    if len(where) > 2:
        raise refuse(f"give a fleet and one boat, got {len(where)} words")
    if len(where) == 2:
        return Path(where[0])
    return Path(where[0]) if where[0] and Path(where[0]).exists() else None


def _only_boat(tables: Fleet, path: Path | None, word: str) -> str:
    """The boat meant by one word: the only one of the fleet at ``path``, or the demo's of that id."""
    known = list(tables.vessels["vessel_id"])
    named = f"{', '.join(known[:NAMED])}{', ...' if len(known) > NAMED else ''}"
    if path is None:
        if word in known:
            return word
        raise refuse(
            f"{word or 'an empty word'} is neither a folder or workbook that is there nor a boat of the demo "
            f"fleet ({named}), which is used where no fleet is named: give a fleet and a boat of it"
        )
    if len(known) == 1:
        return str(known[0])
    raise refuse(f"{path} holds {len(known)} boats: name one of them after it ({named})")


def _write_files(found: Season, work: SeasonCalendar, figure: Path | None, calendar: Path | None) -> None:
    if figure is not None:
        from riskmodel.report.season_figure import write_season_figure

        write_season_figure(figure, found, work)
    if calendar is not None:
        from riskmodel.atomic_write import atomic_write
        from riskmodel.report.season_parts import calendar_file

        text = calendar_file(found, work)
        # As bytes: the line ends are the format's own.
        atomic_write(calendar, text.encode("utf-8"))


def _text(found: Season, work: SeasonCalendar, asked: tuple[int, Format, Listed]) -> str | pd.DataFrame:
    top, form, listed = asked
    if form is Format.TABLE:
        from riskmodel.report.season import season_page

        return season_page(found, work, top)
    from riskmodel.report.season_parts import rows_of

    return rows_of(found, work, listed.value)
