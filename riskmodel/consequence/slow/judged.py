"""The slow damage table drawn for kinds of part: one measure of one class in every scenario."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.hypercube import Hypercube
from riskmodel.trade.crosscheck_slow import FACTOR
from riskmodel.trade.physics import SlowDamage
from riskmodel.trade.physics_rules import CONDITIONS


def measured(rows: Sequence[SlowDamage], measure: str, kinds: pd.DataFrame, cube: Hypercube) -> FloatArray:
    """(n, S) draws of one measure, in its unit: for each kind the row with the most conditions that it meets.

    One class's rows share their draws: a worse core is worse in every scenario.
    """
    low, high = np.full(len(kinds), np.nan), np.full(len(kinds), np.nan)
    for row in sorted((row for row in rows if row.measure == measure), key=lambda row: len(_asked(row))):
        here = meets(row, kinds)
        low[here], high[here] = row.low, row.high
    return cube.between(f"slow/{rows[0].item_class}/{measure}", low, high)


def growth_factor(rows: Iterable[SlowDamage], kinds: pd.DataFrame, cube: Hypercube) -> FloatArray:
    """(n, S) product of the factors on growth that each kind meets; a row that only slows never hastens."""
    factor = np.ones((len(kinds), cube.count))
    for row in rows:
        here = meets(row, kinds)
        if row.measure == FACTOR and here.any():
            name = "+".join(column for column in CONDITIONS if getattr(row, column))
            drawn = cube.between(
                f"slow/{row.item_class}/{FACTOR}/{name}", np.array([row.low]), np.array([row.high])
            )
            # The draws reach a little past either end of a judged range.
            factor[here] *= np.clip(drawn, 1.0 if row.low >= 1 else 0.0, 1.0 if row.high <= 1 else np.inf)
    return factor


def meets(row: SlowDamage, kinds: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """(n,) whether each kind has every word that the row asks for; a blank cell of the kind meets nothing."""
    met = np.ones(len(kinds), dtype=bool)
    for column in _asked(row):
        met &= (kinds[column] == getattr(row, column)).to_numpy(dtype=bool, na_value=False)
    return met


def _asked(row: SlowDamage) -> tuple[str, ...]:
    return tuple(column for column in CONDITIONS if getattr(row, column))
