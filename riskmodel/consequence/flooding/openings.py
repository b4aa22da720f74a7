"""How a class opens to the sea when it lets go: weep, split or parted, how large and how deep, afloat or under way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.frames import places_by
from riskmodel.hypercube import WIDTH_90, Hypercube
from riskmodel.trade import Trade
from riskmodel.trade.physics import Opening

# Each mode's spread of areas stands on two points, a standard deviation either side (Gauss-Hermite of two nodes).
SIDES = (-1.0, 1.0)
MODES = ("weep", "split", "parted")
WAYS = len(MODES) * len(SIDES)
SQUARE_MM = 1e-6
# Depths in the table are for a boat of this length.
REFERENCE_LENGTH_M = 10.0


@dataclass(frozen=True)
class Ways:
    """Ways in which n kinds of part let water in, in S scenarios and WAYS sizes.

    ``share`` (n, S, WAYS) adds to 1; ``area`` (n, S, WAYS) [m2]; ``depth`` (n, S) [m] below the waterline;
    ``at_berth`` (n, S): share that begins with nobody aboard; ``open`` (n, S): chance that the sea can reach it then.
    """

    share: FloatArray
    area: FloatArray
    depth: FloatArray
    at_berth: FloatArray
    open: FloatArray


def opening_classes(trade: Trade) -> frozenset[str]:
    """Classes that can let the sea in."""
    return frozenset(row.item_class for row in trade.openings)


def ways_in(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Ways:
    """Ways of kinds of part: ``item_class, length_m, bore_mm, depth_m, open_to_sea``; all classes have openings.

    A bore or depth of the part's own replaces the table's; areas grow with the square of the bore.
    """
    n, count = len(kinds), cube.count
    share, area = np.zeros((n, count, WAYS)), np.zeros((n, count, WAYS))
    depth, berth, open_ = np.zeros((n, count)), np.zeros((n, count)), np.zeros((n, count))
    by_class: dict[str, list[Opening]] = {}
    for row in trade.openings:
        by_class.setdefault(row.item_class, []).append(row)
    for name, place in places_by(kinds["item_class"]).items():
        rows = by_class[name]
        bore = kinds["bore_mm"].to_numpy(dtype=float)[place]
        doubt = trade.physics["flooding_area_doubt"]
        wider = cube.between(f"opening/{name}/area", np.array([doubt.low]), np.array([doubt.high]))[0]
        share[place], area[place] = _sizes(rows, bore, wider, cube)
        first = rows[0]
        depth[place] = _depth(first, kinds.iloc[place], cube)
        berth[place] = _chance(cube, f"opening/{name}/berth", first.at_berth_low, first.at_berth_high)
        open_[place] = _chance(cube, f"opening/{name}/open", first.open_low, first.open_high)
    known = kinds["open_to_sea"].to_numpy()
    open_[known == "yes"], open_[known == "no"] = 1.0, 0.0
    return Ways(share, area, depth, berth, open_)


def _sizes(
    rows: list[Opening], bore: FloatArray, doubt: FloatArray, cube: Hypercube
) -> tuple[FloatArray, FloatArray]:
    """Shares and areas (n, S, WAYS) of one class, all areas times ``doubt`` (S,)."""
    name, count = rows[0].item_class, cube.count
    share, area = np.zeros((count, WAYS)), np.ones((count, WAYS))
    for row in rows:
        sd = np.log(row.area_high_mm2 / row.area_low_mm2) / WIDTH_90
        middle = np.sqrt(row.area_low_mm2 * row.area_high_mm2) * SQUARE_MM
        mode = _chance(cube, f"opening/{name}/{row.mode}", row.share_low, row.share_high)
        for side, deviate in enumerate(SIDES):
            way = MODES.index(row.mode) * len(SIDES) + side
            share[:, way] = mode / len(SIDES)
            area[:, way] = middle * np.exp(deviate * sd) * doubt
    share /= share.sum(axis=1, keepdims=True)
    wider = np.where(np.isnan(bore), 1.0, bore / rows[0].bore_mm) ** 2
    return np.broadcast_to(share, (len(bore), count, WAYS)), wider[:, None, None] * area


def _depth(row: Opening, kinds: pd.DataFrame, cube: Hypercube) -> FloatArray:
    drawn = cube.between(
        f"opening/{row.item_class}/depth", np.array([row.depth_low_m]), np.array([row.depth_high_m])
    )
    usual = drawn * kinds["length_m"].to_numpy(dtype=float)[:, None] / REFERENCE_LENGTH_M
    given = kinds["depth_m"].to_numpy(dtype=float)[:, None]
    depth: FloatArray = np.where(np.isnan(given), usual, given)
    return depth


def _chance(cube: Hypercube, name: str, low: float, high: float) -> FloatArray:
    drawn: FloatArray = np.minimum(cube.between(name, np.array([low]), np.array([high]))[0], 1.0)
    return drawn
