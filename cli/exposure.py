"""riskmodel exposure: the annual loss of a portfolio, its mean, its tail and what drives them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge, problem_file, refuse, write_bad_rows
from .files import refuse_files
from .fleets import can_draw, horizon_for, open_fleet, open_fleet_without_bad, say_which
from .options import (
    AsOf,
    BadRows,
    Debug,
    FleetPath,
    Format,
    Out,
    OutFormat,
    Processes,
    Quiet,
    Raw,
    Seed,
    Strict,
    Top,
    Until,
    finite,
)
from .output import Sent, deliver, end, say_notes
from .schedules import read_by
from .suffixes import refuse_other_suffix, refuse_unless
from .width import as_wide_as

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.exposure.answer import Answer, Conditions
    from riskmodel.exposure.cover import Policy
    from riskmodel.exposure.schedule.boats import Schedule
    from riskmodel.fleet import Fleet, LeftOut
    from riskmodel.risk import Assessment

YEAR_MONTHS = 12
# Of csv and json, whether or not there is a row.
HEAD = ["table", "row", "figure", "value", "as_of", "until", "currency"]


def exposure(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    until: Until = None,
    months: Annotated[
        int | None, typer.Option("--months", min=1, help="Look this many months ahead; a year when left out.")
    ] = None,
    by: Annotated[
        list[str] | None,
        typer.Option(
            "--by",
            metavar="COLUMN",
            help="Where the loss sits, by a vessels column, age, end_state or item_class; several times.",
        ),
    ] = None,
    deductible: Annotated[
        str, typer.Option("--deductible", help="Of boats that give none: an amount, or 1% of the value.")
    ] = "0",
    salvage_outside: Annotated[
        bool,
        typer.Option(
            "--salvage-outside", help="Salvage and clean-up are paid on top of deductible and limit."
        ),
    ] = False,
    value_share: Annotated[
        float,
        typer.Option(
            "--value-share",
            min=0,
            max=1,
            callback=finite,
            help="Share of the value paid for the boat itself at most, where value_basis is market; of all boats "
            "where none says.",
        ),
    ] = 1.0,
    without: Annotated[
        list[str] | None,
        typer.Option("--without", metavar="END_STATE", help="Not covered: several times."),
    ] = None,
    condition: Annotated[
        list[str] | None,
        typer.Option(
            "--condition",
            metavar="TEXT",
            help="Price renew=CLASS>YEARS, visits=DAYS or tests=DAYS (or weekly, monthly, quarterly); several times.",
        ),
    ] = None,
    compliance: Annotated[
        float,
        typer.Option(
            "--compliance", min=0, max=1, callback=finite, help="Share of boats that keep a condition."
        ),
    ] = 0.8,
    visit_cost: Annotated[
        float,
        typer.Option(
            "--visit-cost", min=0, callback=finite, help="What one visit more costs, in the fleet's currency."
        ),
    ] = 0.0,
    top: Top = 10,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    raw: Raw = False,
    figure: Annotated[
        Path | None,
        typer.Option("--figure", dir_okay=False, help="Draw to this .png, .pdf or .svg file too."),
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster",
            metavar="ADDRESS",
            help="Have a schedule of millions read by the Dask cluster at this address (extra dask). Only a scheduler "
            "that you trust: it gets code of this program to run, and what it sends back can run code here.",
        ),
    ] = None,
    work_folder: Annotated[
        Path | None,
        typer.Option(
            "--work-folder",
            exists=True,
            file_okay=False,
            help="A folder that every worker of the cluster sees.",
        ),
    ] = None,
    processes: Processes = None,
    bad_rows: BadRows = None,
    skip_bad: Annotated[
        bool, typer.Option("--skip-bad", help="Go on without boats that have a broken row, and say so.")
    ] = False,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite the files named by --out, --figure and --bad-rows.")
    ] = False,
    seed: Seed = 1,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """The portfolio's annual loss: mean, tail, drivers, and what a maintenance condition would change."""
    problems = problem_file(bad_rows, raw)
    with edge(debug, problems), as_wide_as(out):
        refuse_files({"--out": out, "--figure": figure, "--bad-rows": bad_rows}, fleet, force)
        refuse_other_suffix(out, form)
        refuse_unless(bad_rows, Format.CSV)
        asked = _conditions(condition, compliance, visit_cost)
        amount, share = _deductible(deductible)
        from riskmodel.exposure.cover import Policy
        from riskmodel.report.exposure_left_out import left_out_notes

        policy = Policy(amount, share, 0.0 if salvage_outside else 1.0, value_share, frozenset(without or ()))
        span = until, months or (None if until else YEAR_MONTHS)
        asking = _Asking(fleet, as_of, span, skip_bad, quiet, seed, cluster or processes, work_folder)
        found = _answered(asking, policy, tuple(by or ()), asked)
        if isinstance(found, _AllSold):
            write_bad_rows(problems, found.left_out.problems)
            can_draw(found.result, figure)
            _deliver_nothing(found.result, Sent(out, form, raw), (quiet, strict))
            return
        write_bad_rows(problems, found.left_out.problems)
        if figure is not None:
            _draw(found, figure)
        deliver(_text(found, top, form), Sent(out, form, raw))
        notes = (*left_out_notes(found), *found.exposure.result.notes)
        say_notes(notes, form, quiet)
        end(len(notes), strict)


@dataclass(frozen=True)
class _AllSold:
    """An assessment without a boat: a book of none has no year to tell of."""

    result: Assessment
    left_out: LeftOut


@dataclass(frozen=True)
class _Asking:
    """Which fleet, seen from when, over what ``span`` (until, months), and how and by whom it is read."""

    fleet: Path | None
    as_of: datetime | None
    span: tuple[datetime | None, int | None]
    skip_bad: bool
    quiet: bool
    seed: int
    readers: str | int | None
    work_folder: Path | None


def _answered(asking: _Asking, policy: Policy, by: tuple[str, ...], asked: Conditions) -> Answer | _AllSold:
    """The answer about a fleet boat by boat, or about a schedule too large for that."""
    if asking.fleet is not None:
        from riskmodel.exposure.schedule.door import is_schedule, open_schedule

        if is_schedule(asking.fleet):
            day = asking.as_of.date() if asking.as_of else None
            schedule = open_schedule(asking.fleet, as_of=day, work_folder=asking.work_folder)
            return _of_schedule(schedule, asking, policy, by, asked)
    from riskmodel.exposure.answer import answer
    from riskmodel.exposure.schedule.rewritten import is_large, schedule_of
    from riskmodel.risk import assess
    from riskmodel.work_folder import work_folder

    tables, left_out = _opened(asking.fleet, asking.as_of, asking.skip_bad)
    if is_large(tables):
        with work_folder() as folder:
            found = _of_schedule(schedule_of(tables, folder), asking, policy, by, asked)
        return replace(found, left_out=left_out)
    say_which(tables, asking.fleet, asking.quiet)
    result = assess(tables, until=horizon_for(tables, *asking.span), seed=asking.seed)
    if result.fleet.vessels.empty:
        return _AllSold(result, left_out)
    return replace(answer(result, policy, by, asked), left_out=left_out)


def _of_schedule(
    schedule: Schedule, asking: _Asking, policy: Policy, by: tuple[str, ...], asked: Conditions
) -> Answer:
    from riskmodel.exposure.schedule.answer import answer_of_schedule
    from riskmodel.exposure.schedule.exposed import exposure_of_schedule
    from riskmodel.exposure.schedule.reading import read_schedule, read_sound_rows
    from riskmodel.exposure.schedule.standing_for import standing_for

    read = read_sound_rows if asking.skip_bad else read_schedule
    counted = read_by(schedule, read, asking.readers, asking.quiet)
    kinds = standing_for(schedule, counted)
    fleet = kinds.learned.fleet
    say_which(fleet, asking.fleet, asking.quiet)
    horizon = horizon_for(fleet, *asking.span)
    return answer_of_schedule(exposure_of_schedule(counted, kinds, horizon, policy, asking.seed), by, asked)


def _opened(fleet: Path | None, as_of: datetime | None, skip_bad: bool) -> tuple[Fleet, LeftOut]:
    from riskmodel.fleet import LeftOut

    return open_fleet_without_bad(fleet, as_of) if skip_bad else (open_fleet(fleet, as_of), LeftOut())


def _conditions(texts: list[str] | None, compliance: float, visit_cost: float) -> Conditions:
    from riskmodel.exposure.answer import Conditions
    from riskmodel.exposure.conditions import read_condition

    return Conditions(tuple(read_condition(text) for text in texts or ()), compliance, visit_cost)


def _deductible(text: str) -> tuple[float, float]:
    """An amount, and a share of the value, of which one is 0."""
    words = text.strip()
    share = words.endswith("%")
    try:
        number = float(words.removesuffix("%"))
    except ValueError:
        number = -1.0
    if not 0 <= number < float("inf") or (share and number > 100):
        raise refuse(f"--deductible must be an amount of 0 or more, or a percentage such as 1%, got {text!r}")
    return (0.0, number / 100) if share else (number, 0.0)


def _draw(found: Answer, figure: Path) -> None:
    from riskmodel.report.exposure_figure import write_exposure_figure

    write_exposure_figure(figure, found)


def _deliver_nothing(result: Assessment, sent: Sent, told: tuple[bool, bool]) -> None:
    """The sentence that all boats are sold, or a table of no rows; ``told``: whether it is quiet, and strict."""
    import pandas as pd

    from riskmodel.report.nothing_left import nothing_left_page

    deliver(nothing_left_page(result) if sent.form is Format.TABLE else pd.DataFrame(columns=HEAD), sent)
    say_notes(result.notes, sent.form, told[0])
    end(len(result.notes), told[1])


def _text(found: Answer, top: int, form: Format) -> str | pd.DataFrame:
    from riskmodel.report.exposure import exposure_page, exposure_rows

    if form is Format.TABLE:
        return exposure_page(found, top)
    from riskmodel.report.rank import currency_of

    result = found.exposure.result
    days = {"as_of": str(result.horizon.as_of), "until": str(result.horizon.until)}
    return exposure_rows(found).assign(**days, currency=currency_of(result))
