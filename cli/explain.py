"""riskmodel explain: every number behind one item's risk, with its source."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .edge import edge, refuse
from .files import refuse_files
from .fleets import horizon_for, open_fleet, say_which
from .options import AsOf, Debug, Force, Format, Months, Out, OutFormat, Quiet, Raw, Seed, Strict, Until
from .output import Sent, deliver, end, say_notes
from .suffixes import refuse_other_suffix
from .width import as_wide_as


def explain(
    where: Annotated[
        list[str], typer.Argument(metavar="[FLEET] ITEM", help="The fleet, and the item's id in it.")
    ],
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    raw: Raw = False,
    force: Force = False,
    seed: Seed = 1,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """Every number behind one item's risk, with its source."""
    with edge(debug), as_wide_as(out):
        if len(where) > 2:
            raise refuse(f"give a fleet and one item, got {len(where)} words")
        fleet = Path(where[0]) if len(where) == 2 else None
        refuse_files({"--out": out}, fleet, force)
        refuse_other_suffix(out, form)
        tables = open_fleet(fleet, as_of)
        import pandas as pd

        from riskmodel.report.explain import explain_page
        from riskmodel.risk import assess
        from riskmodel.risk.explain import explain_item

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months), seed=seed)
        steps = explain_item(result, where[-1])
        text = explain_page(result, where[-1], steps) if form is Format.TABLE else pd.DataFrame(steps)
        deliver(text, Sent(out, form, raw))
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)
