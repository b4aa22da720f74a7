"""The steps of slow damage in words, for whoever asks why."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from riskmodel.consequence.slow.follows import loss_growth, slow_needs, slow_steps
from riskmodel.consequence.told import Line, per_cent, two_figures
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade
from riskmodel.trade.physics_rules import RUNNING, WATER

# What finding it late costs is told for these months.
TOLD_MONTHS = (3.0, 12.0, 36.0)

NEEDED = {WATER: "in the water", RUNNING: "while the boat is in use"}


def slow_told(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> tuple[Line, ...]:
    """What, value and source of each step for the first of the kinds (columns of USES)."""
    row, name = slow_steps(kinds.iloc[[0]], trade, cube).iloc[0], kinds["item_class"].iloc[0]
    source = next(f"{each.source}; {each.status}" for each in trade.slow_damage if each.item_class == name)
    grown = loss_growth(np.array(TOLD_MONTHS), kinds.iloc[[0]], trade, cube)[0]
    after = ", ".join(
        f"{two_figures(100 * each)} % after {month:g} months"
        for each, month in zip(grown, TOLD_MONTHS, strict=True)
    )
    return (
        *_at_work(name, row["at_work"], trade),
        ("Harms anything", f"{two_figures(100 * row['reached'])} % of failures", source),
        ("Starts after", f"{two_figures(row['delay_months'])} months unseen", source),
        (
            "Grows",
            f"from {two_figures(100 * row['least'])} % of the reference loss by {two_figures(100 * row['a_month'])} % "
            f"a month, up to {two_figures(100 * row['most'])} %",
            source,
        ),
        (
            "Looked at",
            f"every {two_figures(row['look_every_months'])} months; one look in {two_figures(1 / row['seen'])} sees it",
            source,
        ),
        (
            "Unseen for",
            f"{two_figures(row['months_unseen'])} months in the mean",
            "looks and visits together",
        ),
        ("When it is found matters: mean damage", after, "the growth above"),
    )


def _at_work(name: str, share: float, trade: Trade) -> Iterator[Line]:
    """Where the boat's year lacks for a time what the damage needs: for how much of it there is some."""
    need = next(need for (item_class, _), need in slow_needs(trade).items() if item_class == name)
    if share < 1.0:
        yield (
            "Goes on only",
            f"{NEEDED[need]}: {per_cent(share)} of the time ahead; the figures below are by the calendar",
            "your periods table",
        )
