"""How likely a boat's pumps, switches, alarms, blowers and ducts are to work when they are called on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.life import Life
from riskmodel.life.ages import AgeTable
from riskmodel.risk.chances import Parameters, Parts, chance_of_one, drawn_parameters, gather_parts
from riskmodel.risk.draws import Draws


@dataclass(frozen=True)
class Readiness:
    """Chance (n, DRAWS), averaged over the horizon, that none of a row's parts works: as things stand, after a
    perfect test today, and after renewal today."""

    dead: FloatArray
    dead_tested: FloatArray
    dead_renewed: FloatArray


def readiness(
    name: str, life: Life, table: AgeTable | None, standing: pd.DataFrame, years: float, draws: Draws
) -> Readiness:
    """Readiness of the parts in ``standing``, all of the barrier class ``name``, over ``years``."""
    parts = gather_parts(standing, table)
    parameters = drawn_parameters(name, life, draws)
    horizon = np.full(len(standing), years)
    now, tested, renewed = (
        not_working(mean_working(some, parameters, horizon), parts.quantity)
        for some in (parts, as_tested(parts), as_new(parts))
    )
    # What was found dead is dead for certain until it is renewed; a test tells nobody anything new.
    gone = (standing["let_go"]).to_numpy()[:, None]
    return Readiness(np.where(gone, 1.0, now), np.where(gone, 1.0, tested), renewed)


def as_new(parts: Parts) -> Parts:
    """The same parts, renewed today."""
    none = np.zeros(len(parts.age))
    return Parts(none, none, parts.quantity, np.full(len(none), -1), parts.ages, parts.weights)


def as_tested(parts: Parts) -> Parts:
    """The same parts, known to work today: the time since is nothing, and the age is today's."""
    gap = np.where(np.isnan(parts.gap), 0.0, parts.gap)
    age = np.where(parts.cell < 0, parts.age + gap, parts.age)
    return Parts(age, np.zeros(len(gap)), parts.quantity, parts.cell, parts.ages, parts.weights)


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
