"""How sure a boat's chances are: each end state's chance for the whole boat, draw by draw."""

from __future__ import annotations

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.risk import Assessment
from riskmodel.risk.draws import DRAWS


def boat_draws(result: Assessment, end_state: str) -> FloatArray:
    """(DRAWS,) chance over the horizon that any part or the background brings it about on the assessment's one boat."""
    draws: FloatArray = result.boats[end_state][0] if end_state in result.boats else np.zeros(DRAWS)
    return draws


def band_of(draws: FloatArray) -> tuple[float, float]:
    """Central 90 % of draws."""
    low, high = np.quantile(draws, [0.05, 0.95])
    return float(low), float(high)
