"""Pools classes: are the trade's intervals too short or too long for this fleet as a whole?

The doubt about which early quantile a renewal interval is, is mostly the same doubt for every class. For class k

    log t_q,k ~ Normal(log N_k + c_k * delta, s_k**2 + c_k**2 * tau**2),   Var(delta) + E[tau**2] = s_q**2,

with s_k the disagreement between sources and c_k the class's own doubt about the quantile over the common s_q (0 for
a class seeded by typical lives alone). delta and tau are averaged over a small grid weighted by evidence. With no
other class's records every class keeps the prior it had. A class in outright conflict with its own interval stands
apart: it neither moves the others nor is moved.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from riskmodel.arrays import FloatArray, weighted_quantile
from riskmodel.errors import ParameterError
from riskmodel.life.life import Life
from riskmodel.life.prior import quantile_doubt

# The shape at which the common doubt about the quantile is stated: rubbing wear and sealants, the middle of the trade.
COMMON_SHAPE = 2.5
SHIFTS = 25
REACH = 4.0
# Nodes of tau as shares of its root mean square, and their weights: a half-normal's own bins (judgement).
TAU_NODES = np.array([0.1, 0.4, 0.75, 1.15, 1.75])
TAU_WEIGHTS = np.array([0.2, 0.25, 0.25, 0.2, 0.1])


@dataclass(frozen=True)
class Doubt:
    """Spreads of a class's prior on log life: ``source`` (s_k) and ``loading`` (c_k)."""

    source: float
    loading: float


@dataclass(frozen=True)
class Pooled:
    """``lives``: every class after pooling. ``factor``: how many times longer lives in this fleet run than the trade's
    renewal intervals say, as (5 %, 50 %, 95 %). ``failures``: how many recorded failures stand behind it."""

    lives: Mapping[str, Life]
    factor: tuple[float, float, float]
    failures: float


def common_doubt() -> float:
    """s_q: the log standard deviation of t_q, common to classes, from not knowing which quantile an interval is."""
    return quantile_doubt(COMMON_SHAPE)


def pool_lives(lives: Mapping[str, Life], doubts: Mapping[str, Doubt], common_share: float) -> Pooled:
    """Lives of all classes learned together.

    Parameters
    ----------
    lives : mapping
        Each class's own posterior, under a prior of log-age variance s_k**2 + c_k**2 * s_q**2.
    doubts : mapping
        The spreads of that prior, for the same classes.
    common_share : float
        Share of s_q**2 that is common to all classes (the variance of delta), in (0, 1).

    Raises
    ------
    ParameterError
        When the share is not inside (0, 1).
    """
    if not 0 < common_share < 1:
        raise ParameterError(f"common_share must lie between 0 and 1, got {common_share}")
    # A class that contradicts its interval outright says nothing of how the trade's intervals run in general.
    told = {name: life for name, life in lives.items() if doubts[name].loading > 0 and not life.conflict}
    if not any(len(life.rows) for life in told.values()):
        return Pooled(lives, (1.0, 1.0, 1.0), 0.0)
    shifts, tau, prior_weight = _fleet_grid(common_share)
    evidence = {name: _evidence(life, doubts[name], shifts, tau) for name, life in told.items()}
    # A class without rows tells nothing, to the last digit: what a grid is off by would count as evidence.
    telling = [np.log(evidence[name][0]) for name, life in told.items() if len(life.rows)]
    log_weight = np.log(prior_weight) + sum(telling)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    pooled = {
        name: _reweighted(life, evidence[name], weight) if name in told else life
        for name, life in lives.items()
    }
    quantiles = np.exp(weighted_quantile(shifts, weight.sum(axis=1), [0.05, 0.5, 0.95]))
    low, middle, high = (float(value) for value in quantiles)
    return Pooled(pooled, (low, middle, high), sum(life.rows.failures for life in told.values()))


def _fleet_grid(common_share: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Shifts (d,), taus (t,) and their joint prior weight (d, t)."""
    variance = common_doubt() ** 2
    deviates = np.linspace(-REACH, REACH, SHIFTS)
    shape = np.exp(-0.5 * deviates**2)
    scale = np.sqrt((1 - common_share) * variance / (TAU_WEIGHTS @ TAU_NODES**2))
    weight = np.outer(shape / shape.sum(), TAU_WEIGHTS)
    return np.sqrt(common_share * variance) * deviates, scale * TAU_NODES, weight


def _evidence(life: Life, doubt: Doubt, shifts: FloatArray, tau: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How likely the class's rows are at each (shift, tau), over its own prior's likelihood: (d, t); and the factors
    (d, t, nodes) that turn its own posterior's weights into those given (shift, tau)."""
    nodes, prior = life.nodes, life.prior
    away = nodes.log_age - prior.log_age
    variance = (doubt.source**2 + (doubt.loading * tau) ** 2)[None, :, None]
    distance = away[None, None, :] - doubt.loading * shifts[:, None, None]
    log_new = -0.5 * distance**2 / variance - 0.5 * np.log(variance)
    log_own = -0.5 * (away / prior.log_age_sd) ** 2 - np.log(prior.log_age_sd)
    ratio = np.exp(log_new - log_own)
    return np.maximum(ratio @ nodes.weight, np.finfo(float).tiny), ratio


def _reweighted(life: Life, evidence: tuple[FloatArray, FloatArray], weight: FloatArray) -> Life:
    total, ratio = evidence
    factor = np.tensordot(weight / total, ratio, axes=2)
    nodes = life.nodes.weight * factor
    return replace(life, nodes=replace(life.nodes, weight=nodes / nodes.sum()))
