"""Chances of letting go, part by part within a class: over the whole posterior, and draw by draw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray, weighted_quantile
from riskmodel.life import Life
from riskmodel.life.ages import AgeTable, age_weights
from riskmodel.life.weibull import failure_probability
from riskmodel.risk.draws import DRAWS, Draws

# Weights of the low, typical and high share of owners who renew at the trade interval (judgement).
SHARE_WEIGHTS = np.array([0.25, 0.5, 0.25])
# Ages an unknown age is summed over, at most.
AGE_POINTS = 64
# Parts of unknown age are told apart no finer than this (years).
ROUNDING = 0.1


@dataclass(frozen=True)
class Parameters:
    """Weighted sets of a class's parameters: shapes and log scales (m,), weights (m,), and which share of
    renewing owners (0, 1, 2) goes with each (m,)."""

    shape: FloatArray
    log_scale: FloatArray
    weight: FloatArray
    owner: npt.NDArray[np.intp]


@dataclass(frozen=True)
class Parts:
    """Parts of one class in service: ``age`` at which each was last known to work and ``gap`` since (years, (n,)),
    ``quantity`` (n,). Where the age is unknown ``cell`` (n,) points into ``weights`` (k, 3, a) over ``ages`` (a,);
    -1 elsewhere."""

    age: FloatArray
    gap: FloatArray
    quantity: FloatArray
    cell: npt.NDArray[np.intp]
    ages: FloatArray
    weights: FloatArray


def posterior_parameters(life: Life) -> Parameters:
    """Every node of the posterior."""
    nodes = life.nodes
    owner = np.zeros(len(nodes.weight), dtype=np.intp)
    return Parameters(np.exp(nodes.log_shape), nodes.log_scale, nodes.weight, owner)


def drawn_parameters(name: str, life: Life, draws: Draws) -> Parameters:
    """Equally weighted draws of a class's life; the owners' share is one draw for the whole fleet."""
    shape, log_scale = draws.life(name, life)
    owner = np.searchsorted(np.cumsum(SHARE_WEIGHTS)[:-1], draws.uniform("owners"))
    return Parameters(shape, log_scale, np.full(DRAWS, 1 / DRAWS), owner)


def gather_parts(standing: pd.DataFrame, table: AgeTable | None) -> Parts:
    """Parts of one class from their standing rows; ``table`` serves the unknown ages (None: there are none)."""
    known = standing["age_known"].to_numpy(dtype=bool)
    age = standing["age_years"].fillna(0.0).to_numpy(dtype=float)
    since = standing["gap_years"].to_numpy(dtype=float)
    gap = np.where(known, np.minimum(np.where(np.isnan(since), age, since), age), since)
    cell = np.full(len(standing), -1)
    ages, weights = np.zeros(1), np.zeros((0, 3, 1))
    if table is not None and not known.all():
        keys = standing.loc[~known, ["oldest", "youngest", "limit"]].to_numpy(dtype=float)
        kinds, place = np.unique(np.round(keys / ROUNDING) * ROUNDING, axis=0, return_inverse=True)
        cell[~known] = place.ravel()
        ages, weights = _coarse(table.ages, np.stack([_weights(table, kind) for kind in kinds]))
    return Parts(
        age - np.where(known, gap, 0.0), gap, standing["quantity"].to_numpy(dtype=float), cell, ages, weights
    )


def chance_of_one(parts: Parts, parameters: Parameters, horizon: FloatArray) -> FloatArray:
    """(n, m) chance that one such part lets go by ``horizon`` (n,) years from the day, since last known to work."""
    chances = np.empty((len(parts.age), len(parameters.shape)))
    known = parts.cell < 0
    span = (parts.gap + horizon)[known, None]
    chances[known] = failure_probability(parts.age[known, None], span, parameters.shape, parameters.log_scale)
    for here, gap, reach in _alike(parts, horizon):
        start = np.zeros_like(parts.ages) if np.isnan(gap) else np.maximum(parts.ages - gap, 0.0)
        span_at = (parts.ages - start + reach)[:, None]
        by_age = failure_probability(start[:, None], span_at, parameters.shape, parameters.log_scale)
        for owner in range(3):
            mine = parameters.owner == owner
            chances[np.ix_(here, mine)] = parts.weights[parts.cell[here], owner] @ by_age[:, mine]
    return chances


def chance_of_any(one: FloatArray, quantity: FloatArray) -> FloatArray:
    """Chance that any of ``quantity`` (n,) like parts lets go; below 1 it is the share of boats that carry one."""
    any_of: FloatArray = -np.expm1(quantity[:, None] * np.log1p(-np.minimum(one, 1 - 1e-15)))
    return any_of


def summary(
    parts: Parts, life: Life, drawn: Parameters, horizon: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean and central 90 % interval (n,) of the chance: over every node of the posterior where the age is known.

    Where it is unknown the mean is over every node and owner; the interval, which needs each combination, is over
    the draws.
    """
    mean, low, high = (np.empty(len(parts.age)) for _ in range(3))
    nodes = posterior_parameters(life)
    mixed = np.broadcast_to(
        np.tensordot(SHARE_WEIGHTS, parts.weights, axes=(0, 1))[:, None], parts.weights.shape
    )
    for start in range(0, len(parts.age), 256):
        some = np.arange(start, min(start + 256, len(parts.age)))
        chosen = replace(_pick(parts, some), weights=mixed)
        chances = chance_of_any(chance_of_one(chosen, nodes, horizon[some]), chosen.quantity)
        mean[some] = chances @ nodes.weight
        low[some], high[some] = weighted_quantile(chances, nodes.weight, [0.05, 0.95])
    loose = np.flatnonzero(parts.cell >= 0)
    if len(loose):
        chances = chance_of_any(
            chance_of_one(_pick(parts, loose), drawn, horizon[loose]), parts.quantity[loose]
        )
        low[loose], high[loose] = np.quantile(match_mean(chances, mean[loose]), [0.05, 0.95], axis=1)
    return mean, low, high


def _pick(parts: Parts, some: npt.NDArray[np.intp]) -> Parts:
    return replace(
        parts, age=parts.age[some], gap=parts.gap[some], quantity=parts.quantity[some], cell=parts.cell[some]
    )


def match_mean(drawn: FloatArray, mean: FloatArray) -> FloatArray:
    """Draws (n, m) with one exponent a row on survival, so that their plain mean is ``mean`` (n,)."""
    hazard = -np.log1p(-np.minimum(drawn, 1 - 1e-15))
    power = np.ones((len(mean), 1))
    for _ in range(3):
        whole = np.exp(-power * hazard)
        slope = np.maximum((hazard * whole).mean(axis=1, keepdims=True), 1e-300)
        power = np.clip(power - ((1 - whole).mean(axis=1, keepdims=True) - mean[:, None]) / slope, 0.2, 5.0)
    matched: FloatArray = -np.expm1(-power * hazard)
    return matched


def _alike(parts: Parts, horizon: FloatArray) -> Iterator[tuple[npt.NDArray[np.intp], float, float]]:
    """Parts of unknown age in groups of one gap and one horizon."""
    unknown = np.flatnonzero(parts.cell >= 0)
    keys = np.column_stack([np.where(np.isnan(parts.gap), -1.0, parts.gap), horizon])[unknown]
    kinds, place = np.unique(keys, axis=0, return_inverse=True)
    for kind, (gap, reach) in enumerate(kinds):
        yield unknown[place.ravel() == kind], (np.nan if gap < 0 else gap), reach


def _weights(table: AgeTable, kind: FloatArray) -> FloatArray:
    oldest, youngest, limit = kind
    return age_weights(table, max(oldest, ROUNDING), min(youngest, max(oldest, ROUNDING), limit), limit)


def _coarse(ages: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ages cut where no weight lies and gathered into at most AGE_POINTS blocks."""
    used = int(np.flatnonzero(weights.max(axis=(0, 1)) > 0)[-1]) + 1
    block = -(-used // AGE_POINTS)
    length = -(-used // block) * block
    padded = np.zeros((*weights.shape[:2], length))
    padded[..., :used] = weights[..., :used]
    centres = np.resize(ages, length).reshape(-1, block).mean(axis=1)
    return centres, padded.reshape(*weights.shape[:2], -1, block).sum(axis=-1)
