"""riskmodel rank: what fails, what follows, and where the next unit of money goes first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from .edge import edge
from .fleets import horizon_for, open_fleet, say_which
from .options import AsOf, Debug, FleetPath, Force, Format, Months, Out, OutFormat, Quiet, Seed, Strict, Until
from .output import deliver, end, frame_text, refuse_overwriting, say_notes

if TYPE_CHECKING:
    import pandas as pd

    from riskmodel.risk import Assessment


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
        text = rank_page(result, top) if form is Format.TABLE else frame_text(_dated(result), form)
        deliver(text, out, force)
        say_notes(result.notes, form, quiet)
        end(len(result.notes), strict)


def _dated(result: Assessment) -> pd.DataFrame:
    """The item risk frame as a file stands alone: with the days it spans and its currency, money to the cent."""
    from riskmodel.report.rank import currency_of

    money = ["expected_loss", "loss_low", "loss_high", "task_cost", "haul_out_cost", "loss_averted"]
    frame = result.frame.round(dict.fromkeys(money, 2))
    days = {"as_of": str(result.horizon.as_of), "until": str(result.horizon.until)}
    return frame.assign(**days, currency=currency_of(result))
