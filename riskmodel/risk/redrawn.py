"""Bands and ranks by the draws of another seed, beside figures that no seed moves."""

from __future__ import annotations

import pandas as pd

# The draws that means are summed over are one fixed set, like the scenarios of the physics: the nodes of a quadrature.
MEANS_SEED = 1
# What a seed may move.
BANDS = (
    *("failure_low", "failure_high", "sinking_low", "sinking_high", "kill_low", "kill_high"),
    *("loss_low", "loss_high", "rank_low", "rank_high", "rank_expected", "top_probability"),
)


def with_bands_of(frame: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    """An item risk frame with the bands and ranks over draws of another of the same parts."""
    theirs = other.set_index("item_id").loc[frame["item_id"], list(BANDS)]
    return frame.assign(**{name: theirs[name].to_numpy() for name in BANDS})
