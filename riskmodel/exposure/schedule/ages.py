"""Ages of parts in cells: narrow where most parts are, and one for parts whose age nobody can tell."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.units import DAYS_PER_YEAR

# Half years to ten, then years to sixty (judgement); what lies inside a cell is taken at the cell's own mean age.
EDGES_YEARS = np.concatenate([np.arange(0.0, 10.0, 0.5), np.arange(10.0, 61.0)])
CELLS = len(EDGES_YEARS)
UNKNOWN = CELLS
ALL_CELLS = CELLS + 1
# Kinds of boat have one cell more, for parts that a condition renews on the first day.
NEW = ALL_CELLS
# A part dated to the year is taken to be as old as its middle makes it; a wider window says too little.
WIDEST_DAYS = 366


def age_days(
    installed: npt.NDArray[np.datetime64], today: np.datetime64
) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
    """Days since the middle of each window (n, 2), NaN where open or too wide; and whether it is later than today."""
    first, last = installed[:, 0], np.minimum(installed[:, 1], today)
    later = installed[:, 0] > today
    with np.errstate(invalid="ignore"):
        width = (last - first) / np.timedelta64(1, "D")
        middle = (today - first) / np.timedelta64(1, "D") - 0.5 * width
    known = np.isfinite(middle) & (width <= WIDEST_DAYS) & ~later
    return np.where(known, np.maximum(middle, 0.0), np.nan), later


def cells_of_ages(days: FloatArray) -> npt.NDArray[np.int64]:
    """(n,) cell of each age [days]; UNKNOWN for NaN."""
    place = np.searchsorted(EDGES_YEARS * DAYS_PER_YEAR, np.nan_to_num(days), side="right") - 1
    return np.where(np.isnan(days), UNKNOWN, place).astype(np.int64)
