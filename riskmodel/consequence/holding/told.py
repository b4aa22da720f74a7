"""The steps of holding in words, for whoever asks why."""

from __future__ import annotations

import pandas as pd

from riskmodel.consequence.holding.follows import FRESH, holding_steps
from riskmodel.consequence.told import Line, two_figures
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

KILONEWTON = 1000.0


def holding_told(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> tuple[Line, ...]:
    """What, value and source of each step for the first of the kinds (columns of USES)."""
    row = holding_steps(kinds.iloc[[0]], trade, cube).iloc[0]
    source = "our judgement; judgement"
    return (
        ("Nights at anchor while it is weak", two_figures(row["nights"]), source),
        ("Strength of such gear, old and sound", f"{two_figures(row['strength'] / KILONEWTON)} kN", source),
        (
            f"Pull in a gust of {FRESH:g} m/s",
            f"{two_figures(row['load'] / KILONEWTON)} kN",
            "0.5 rho C_d A v^2 and snatching",
        ),
        ("Weakened gear that parts in it", f"{two_figures(100 * row['parting'])} %", source),
        (
            "Adrift then, and ashore or into another",
            f"{two_figures(100 * row['lost'])} %",
            "time to the shore against the crew's",
        ),
    )
