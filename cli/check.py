"""riskmodel check: is my data right?"""

from __future__ import annotations

from .edge import BAD_DATA, SHOWN, edge, write_bad_rows
from .fleets import open_fleet, say_which
from .options import AsOf, BadRows, Debug, FleetPath, Force, Format, Out, OutFormat, Quiet, Strict
from .output import deliver, end, frame_text, refuse_overwriting, say_notes
from .schedules import checked_schedule


def check(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    bad_rows: BadRows = None,
    force: Force = False,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """Is my data right? Every problem with its file, row, column and rule; exit code 3 when there is one."""
    with edge(debug, bad_rows):
        import typer

        from riskmodel.errors import TableError
        from riskmodel.report.check import clean_page, problems_frame, problems_page
        from riskmodel.risk.checking import wholly_checked

        refuse_overwriting(out, force)
        refuse_overwriting(bad_rows, force)
        try:
            tables = checked_schedule(fleet, as_of, quiet) or wholly_checked(
                lambda: open_fleet(fleet, as_of), fleet
            )
        except TableError as error:
            if debug:
                raise
            found = error.problems
            write_bad_rows(bad_rows, found)
            table = form is Format.TABLE
            deliver(problems_page(found) if table else frame_text(problems_frame(found), form), out, force)
            if bad_rows is None and len(found) > SHOWN and not quiet:
                typer.echo("--bad-rows FILE writes them as a table.", err=True)
            raise typer.Exit(BAD_DATA) from None
        write_bad_rows(bad_rows, ())
        say_which(tables, fleet, quiet)
        text = clean_page(tables) if form is Format.TABLE else frame_text(problems_frame(()), form)
        deliver(text, out, force)
        say_notes(tables.notes, form, quiet)
        end(len(tables.notes), strict)
