"""riskmodel check: is my data right?"""

from __future__ import annotations

from .edge import BAD_DATA, edge
from .fleets import open_fleet, say_which
from .options import AsOf, Debug, FleetPath, Force, Out, Quiet, Strict
from .output import deliver, end, refuse_overwriting


def check(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    out: Out = None,
    force: Force = False,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """Is my data right? Every problem with its file, row, column and rule; exit code 3 when there is one."""
    with edge(debug):
        import typer

        from riskmodel.errors import TableError
        from riskmodel.report.check import clean_page, problems_page

        refuse_overwriting(out, force)
        try:
            tables = open_fleet(fleet, as_of)
        except TableError as error:
            if debug:
                raise
            deliver(problems_page(error.problems), out, force)
            raise typer.Exit(BAD_DATA) from None
        say_which(tables, fleet, quiet)
        deliver(clean_page(tables), out, force)
        end(len(tables.notes), strict)
