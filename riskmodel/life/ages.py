"""How old a part of unknown date may be: the age since its last renewal in a renewal process."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.life import Life, fewer_nodes

# Cell width of the age axis, years; boats older than the axis are taken at its end (judgement).
STEP = 0.1
OLDEST = 80.0
CELLS = round(OLDEST / STEP)
# Survival is averaged over the posterior at these ages (years) and read between them, finer where lives are
# short.
LIGHTEST = 1e-4
KNOTS = np.concatenate([np.arange(0, 5, 0.25), np.arange(5, 10, 0.5), np.arange(10, 2 * OLDEST, 2.0)])


@dataclass(frozen=True)
class Upkeep:
    """How owners renew a class of part.

    ``renewal_age`` (years): the trade interval a share of owners keep to; ``warning`` (years): how long
    before letting go a part visibly needs work, which is when the other owners renew it; ``shares``: that
    share as (low, typical, high), a doubt common to the fleet.
    """

    renewal_age: float
    warning: float
    shares: tuple[float, float, float]


@dataclass(frozen=True)
class AgeTable:
    """Renewal tables of one class.

    ``ages`` (n,) at mid-cell in years; per kind of owner, chance of being whole and needing no work at that
    age (2, n) and chance of a renewal in a cell of time since new (2, n).
    """

    ages: FloatArray
    whole: FloatArray
    renewals: FloatArray
    shares: FloatArray


def age_table(life: Life, upkeep: Upkeep) -> AgeTable:
    """Renewal tables for a class with this life and upkeep; ages in years.

    A part is renewed when it needs work or, by the owners who keep to it, at the trade interval. Source:
    the discrete renewal equation (Cox 1962, Renewal Theory, ch. 2, from memory), cell by cell.
    """
    edges: FloatArray = STEP * np.arange(CELLS + 1, dtype=float)
    usual = fewer_nodes(life)
    lasting = np.log(np.maximum(usual.survival(KNOTS), np.finfo(float).tiny))
    sound = np.exp(
        np.interp(edges + upkeep.warning, KNOTS, lasting) - np.interp(upkeep.warning, KNOTS, lasting)
    )
    on_schedule = sound * (edges < max(upkeep.renewal_age, STEP) - STEP / 2)
    whole = np.stack([on_schedule, sound])
    renewals = _renewal_sequences(-np.diff(whole))
    return AgeTable(edges[:-1] + STEP / 2, whole[:, :-1], renewals, np.array(upkeep.shares))


def age_weights(table: AgeTable, oldest: float, youngest: float = 0.0, limit: float = np.inf) -> FloatArray:
    """Weights (3, n) over ``table.ages`` for a part on a boat ``oldest`` years old, a row a share of owners.

    Bounds and refusals as ``owner_weights``. Rows add to 1.
    """
    weights: FloatArray = owner_weights(table, oldest, youngest, limit).sum(axis=0)
    return weights


def owner_weights(table: AgeTable, oldest: float, youngest: float = 0.0, limit: float = np.inf) -> FloatArray:
    """The same weights (2, 3, n) by kind of owner: who keeps to the interval first; the two add to 1 together.

    ``youngest`` and ``limit`` bound the age where more is known (a window of installation).

    Raises
    ------
    ParameterError
        When the bounds leave no age at all.
    """
    top = min(oldest, limit)
    if not (0 <= youngest <= top):
        raise ParameterError(
            f"age bounds must satisfy 0 <= youngest <= oldest, got {youngest:g} to {top:g} years"
        )
    last = int(np.clip(oldest / STEP, 0, CELLS - 1))
    # In service now at age k means: a renewal k cells ago, and whole since.
    density = table.renewals[:, last::-1] * table.whole[:, : last + 1]
    # The part a boat was built with stands wholly in the cell of the boat's age, which its age must not cut.
    within = _overlap(table.ages[: last + 1], youngest, min(limit, (last + 1) * STEP))
    inside = density * within
    spread = np.where(inside.sum(axis=1, keepdims=True) > 0, inside, within)
    spread = spread / spread.sum(axis=1, keepdims=True)
    # Renewing owners' parts within the bounds count by how likely the bounds are for them.
    likely = np.maximum(inside.sum(axis=1), np.finfo(float).tiny)
    share = table.shares * likely[0] / (table.shares * likely[0] + (1 - table.shares) * likely[1])
    weights = np.zeros((2, 3, CELLS))
    weights[0, :, : last + 1] = share[:, None] * spread[0]
    weights[1, :, : last + 1] = (1 - share)[:, None] * spread[1]
    return weights


def _renewal_sequences(chance: FloatArray) -> FloatArray:
    """u_n = sum over k of chance_k * u_(n - k - 1), u_0 = 1, for each row: the coefficients of 1 / (1 - z P(z)).

    Read off the series on a circle inside the unit disc, small enough that what wraps round is below 1e-9.
    """
    points = 4 * CELLS
    radius = 1e-9 ** (1 / points)
    powers = radius ** np.arange(points)
    spectrum = np.fft.rfft(np.pad(chance, ((0, 0), (1, points - CELLS - 1))) * powers)
    series = np.fft.irfft(1.0 / (1.0 - spectrum), points) / powers
    renewals: FloatArray = np.clip(series[:, :CELLS], 0.0, 1.0)
    return renewals


def _overlap(ages: FloatArray, low: float, high: float) -> FloatArray:
    """Share of each cell inside [low, high]; a window inside one cell takes that cell whole."""
    left, right = ages - STEP / 2, ages + STEP / 2
    share: FloatArray = np.clip(np.minimum(right, high) - np.maximum(left, low), 0.0, STEP) / STEP
    if share.sum() == 0:
        share[int(np.clip(low / STEP, 0, len(ages) - 1))] = 1.0
    return share
