"""How likely a boat's pumps, switches, alarms, blowers and ducts are to work when they are called on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.risk.chances import Parameters, chance_of_one
from riskmodel.risk.parts import Parts, as_new, as_tested


@dataclass(frozen=True)
class Readiness:
    """Chance (n, DRAWS), averaged over the horizon, that none of a row's parts works: as things stand, after a
    perfect test today, and after renewal today."""

    dead: FloatArray
    dead_tested: FloatArray
    dead_renewed: FloatArray


def readiness(parts: Parts, parameters: Parameters, standing: pd.DataFrame, years: float) -> Readiness:
    """Readiness of ``parts``, all of one barrier class, over ``years``; ``standing``: their rows."""
    horizon = np.full(len(standing), years)
    now, tested, renewed = (
        not_working(mean_working(some, parameters, horizon), parts.quantity)
        for some in (parts, as_tested(parts), as_new(parts))
    )
    # What was found dead is dead for certain until it is renewed; a test tells nobody anything new.
    gone = standing["let_go"].to_numpy()[:, None]
    return Readiness(np.where(gone, 1.0, now), np.where(gone, 1.0, tested), renewed)


def mean_working(parts: Parts, parameters: Parameters, horizon: FloatArray) -> FloatArray:
    """(n, m) chance that one such part works, averaged over the horizon (n,) years; unseen failure stays unseen.

    Simpson's rule over the start, the middle and the end: survival is smooth and close to straight on a season.
    """
    start, middle, end = (chance_of_one(parts, parameters, horizon * place) for place in (0.0, 0.5, 1.0))
    working: FloatArray = 1.0 - (start + 4.0 * middle + end) / 6.0
    return working


def not_working(working: FloatArray, quantity: FloatArray) -> FloatArray:
    """(n, m) chance that none of ``quantity`` (n,) such parts works; below 1 it is the share of boats with one."""
    carried = np.minimum(quantity, 1.0)[:, None]
    several = np.maximum(quantity, 1.0)[:, None]
    dead: FloatArray = 1.0 - carried + carried * (1.0 - working) ** several
    return dead


def any_working(dead: FloatArray, boat: npt.NDArray[np.intp], vessels: int) -> FloatArray:
    """(vessels, m) chance that at least one of a boat's parts works; 0 where it has none."""
    none = np.ones((vessels, dead.shape[1]))
    np.multiply.at(none, boat, dead)
    return 1.0 - none
