"""riskmodel lives: what trade intervals and records say about each class's life."""

from __future__ import annotations

from typing import Annotated

import typer

from .edge import edge, refuse
from .fleets import horizon_for, open_fleet, say_which
from .options import AsOf, Debug, FleetPath, Force, Format, Months, Out, OutFormat, Quiet, Strict, Until
from .output import deliver, end, frame_text, refuse_overwriting, say_notes


def lives(
    fleet: FleetPath = None,
    item_class: Annotated[str, typer.Option("--item-class", help="One class in full, with sources.")] = "",
    as_of: AsOf = None,
    until: Until = None,
    months: Months = None,
    form: OutFormat = Format.TABLE,
    out: Out = None,
    force: Force = False,
    quiet: Quiet = False,
    strict: Strict = False,
    debug: Debug = False,
) -> None:
    """What do the trade intervals and my own records say about each class's life?"""
    with edge(debug):
        refuse_overwriting(out, force)
        tables = open_fleet(fleet, as_of)
        from riskmodel.report.lives import class_page, lives_frame, lives_page, unknown_class
        from riskmodel.risk import assess

        say_which(tables, fleet, quiet)
        result = assess(tables, until=horizon_for(tables, until, months))
        if item_class and item_class not in result.lives.posterior:
            raise refuse(unknown_class(item_class, result.lives.posterior))
        where = (tables.source, str(tables.as_of), str(result.horizon.until))
        if form is not Format.TABLE:
            frame = lives_frame(result.lives, result.trade)
            text = frame_text(frame[frame["item_class"] == item_class] if item_class else frame, form)
        elif item_class:
            text = class_page(item_class, result.lives, result.trade, where)
        else:
            text = lives_page(result.lives, result.trade, where, result.notes)
        deliver(text, out, force)
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)
