"""Classes whose letting go may hurt somebody or sink the boat: no sum of money postpones work on those."""

from __future__ import annotations

import pandas as pd

from riskmodel.consequence import INJURY
from riskmodel.consequence.areas import AREAS
from riskmodel.risk.frame import SINKING
from riskmodel.trade import Trade


def harmful_states(trade: Trade) -> frozenset[str]:
    """End states that kill, hurt or sink."""
    killing = {name for name, state in trade.end_states.items() if state.can_kill}
    return frozenset({*killing, *SINKING, INJURY})


def harmful_classes(trade: Trade, following: pd.DataFrame) -> frozenset[str]:
    """Classes with a path to people or to sinking, on these boats or on any boat.

    ``following``: the rows of what may follow in a fleet. A class counts when a part of it has such a path here, when
    the trade tables or the physics give it one anywhere, and when it stands between such an end state and the boat.
    """
    harmful = harmful_states(trade)
    here = following.loc[following["end_state"].isin(harmful), "item_class"]
    judged = {
        name for name, each in trade.classes.items() if any(path.end_state in harmful for path in each.paths)
    }
    worked_out = {name for area in AREAS if area.hurts_by in harmful for name in area.classes(trade)}
    between = {name for barrier in trade.barriers if barrier.end_state in harmful for name in barrier.needs}
    return frozenset({*map(str, here), *judged, *worked_out, *between})
