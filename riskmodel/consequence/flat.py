"""Paths that are judged, not worked out: the trade's range, times circumstances, less what barriers stop."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.barriers import barriers_against
from riskmodel.consequence.follow import BARRIER_STATES, Follow
from riskmodel.consequence.paths import item_paths
from riskmodel.consequence.quantities import MOST
from riskmodel.frames import places_by
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Barrier, Trade

# Nothing stops everything (judgement).
MOST_STOPPED = 0.98


def flat_follows(parts: pd.DataFrame, trade: Trade, cube: Hypercube) -> tuple[pd.DataFrame, Follow]:
    """Rows ``item, end_state`` of item_paths for the parts, with the factors behind them, and what follows in each.

    ``parts``: one row a part with its boat's columns; ``item`` is its place.
    """
    paths = item_paths(parts, trade)
    follows = np.empty((len(paths), cube.count))
    ranges = paths[["low", "high"]].to_numpy(dtype=float)
    for name, place in places_by(paths["item_class"] + "/" + paths["end_state"]).items():
        # Boats in like circumstances share a range, and so its draws; parts of one class move together on one path.
        kinds, kind = np.unique(ranges[place], axis=0, return_inverse=True)
        follows[place] = cube.between(f"path/{name}", kinds[:, 0], kinds[:, 1])[kind.ravel()]
    likely = np.minimum(follows, MOST)
    left = np.ones((len(paths), cube.count, BARRIER_STATES))
    for name, place in places_by(paths["end_state"]).items():
        left[place] = left_after_barriers(name, trade, cube)
    return paths, Follow(likely[:, :, None] * left, np.ones_like(likely))


def left_after_barriers(end_state: str, trade: Trade, cube: Hypercube) -> FloatArray:
    """(S, BARRIER_STATES) share of an end state that is left when none, the first, the second or both work."""
    left = np.ones((cube.count, BARRIER_STATES))
    for number, barrier in enumerate(barriers_against(end_state, trade)):
        kept = 1.0 - stop_draws(barrier, cube)
        left[:, 1 << number] *= kept
        left[:, BARRIER_STATES - 1] *= kept
    return left


def stop_draws(barrier: Barrier, cube: Hypercube) -> FloatArray:
    """(S,) share that a working barrier stops."""
    low, high = np.array([barrier.stops_low]), np.array([barrier.stops_high])
    stops: FloatArray = np.minimum(cube.between(f"barrier/{barrier.barrier}", low, high)[0], MOST_STOPPED)
    return stops
