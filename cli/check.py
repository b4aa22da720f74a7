"""riskmodel check: is my data right?"""

from __future__ import annotations

from .edge import BAD_DATA, SHOWN, edge, problem_file, say, write_bad_rows
from .files import refuse_files
from .fleets import open_fleet, say_which
from .options import (
    AsOf,
    BadRows,
    Debug,
    FleetPath,
    Force,
    Format,
    Out,
    OutFormat,
    Processes,
    Quiet,
    Raw,
    Strict,
)
from .output import Sent, deliver, end, say_notes
from .schedules import checked_schedule
from .suffixes import refuse_other_suffix, refuse_unless
from .width import as_wide_as


def check(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    raw: Raw = False,
    bad_rows: BadRows = None,
    force: Force = False,
    processes: Processes = None,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """Is my data right? Every problem with its file, row, column and rule; exit code 3 when there is one."""
    problems = problem_file(bad_rows, raw)
    with edge(debug, problems), as_wide_as(out):
        import typer

        from riskmodel.errors import TableError
        from riskmodel.report.check import clean_page, problems_frame, problems_page
        from riskmodel.risk.checking import wholly_checked

        refuse_files({"--out": out, "--bad-rows": bad_rows}, fleet, force)
        refuse_other_suffix(out, form)
        refuse_unless(bad_rows, Format.CSV)
        try:
            tables = checked_schedule(fleet, as_of, processes, quiet) or wholly_checked(
                lambda: open_fleet(fleet, as_of), fleet
            )
        except TableError as error:
            if debug:
                raise
            found = error.problems
            write_bad_rows(problems, found)
            table = form is Format.TABLE
            deliver(problems_page(found) if table else problems_frame(found), Sent(out, form, raw))
            if bad_rows is None and len(found) > SHOWN and not quiet:
                say("--bad-rows FILE writes them as a table.")
            raise typer.Exit(BAD_DATA) from None
        write_bad_rows(problems, ())
        say_which(tables, fleet, quiet)
        text = clean_page(tables) if form is Format.TABLE else problems_frame(())
        deliver(text, Sent(out, form, raw))
        say_notes(tables.notes, form, quiet)
        end(len(tables.notes), strict)
