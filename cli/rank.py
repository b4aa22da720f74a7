"""riskmodel rank: what fails, what follows, and where the next unit of money goes first."""

from __future__ import annotations

from typing import Annotated

import typer

from .edge import edge
from .fleets import horizon_for, open_fleet, say_which
from .options import AsOf, Debug, FleetPath, Force, Format, Months, Out, OutFormat, Quiet, Seed, Strict, Until
from .output import deliver, end, frame_text, refuse_overwriting, say_notes


def rank(
    fleet: FleetPath = None,
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    top: Annotated[int, typer.Option("--top", min=1, help="Rows of each list to show.")] = 15,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    force: Force = False,
    seed: Seed = 1,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """What fails, what follows, and where does the next unit of money go first?"""
    with edge(debug):
        refuse_overwriting(out, force)
        tables = open_fleet(fleet, as_of)
        from riskmodel.report.rank import rank_page
        from riskmodel.risk import assess

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months), seed=seed)
        text = rank_page(result, top) if form is Format.TABLE else frame_text(result.frame, form)
        deliver(text, out, force)
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)
