"""Maker's lots: parts of one lot share a factor of mean one on their hazard; a lot that fails early warns its siblings.

The factor L is Gamma with mean 1 before records. A lot with d failures whose parts, by the class's life, had lived
through a total cumulative hazard E has posterior Gamma(a + d, a + E): the conjugate pair of a Poisson count. An item's
chance averages over that posterior at a few nodes, the same for every part of the lot. So that t_q stays the age by
which a fraction q of *all* lots together has failed, the class's hazard is raised by ``marginal_correction``.
A recall is a known defect and no factor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray, fraction
from riskmodel.errors import ParameterError

NODES = 7


@dataclass(frozen=True)
class Lot:
    """Posterior of one lot's factor: nodes (k,) and weights (k,), whose mean is (a + failures) / (a + expected)."""

    factor: FloatArray
    weight: FloatArray
    failures: float
    expected: float

    @property
    def mean(self) -> float:
        """Posterior mean of the factor: above 1 for a lot that failed more than its class should."""
        return float(self.factor @ self.weight)


def learn_lot(failures: float, expected: float, spread: float) -> Lot:
    """The factor of a lot after ``failures`` against ``expected`` (its parts' cumulative hazard by the class's life).

    ``spread`` is the standard deviation of the factor between lots before records.

    Raises
    ------
    ParameterError
        When a count is negative or the spread is not above 0.
    """
    if not (failures >= 0 and expected >= 0):
        raise ParameterError(f"failures and expected must be 0 or more, got {failures} and {expected}")
    worth = lot_worth(spread)
    return Lot(*_gamma_nodes(worth + failures, worth + expected), failures, expected)


def lot_worth(spread: float) -> float:
    """The Gamma's shape (and rate) a for a factor of mean one with this standard deviation: 1 / spread**2."""
    if not 0 < spread < np.inf:
        raise ParameterError(f"a lot's spread must be above 0, got {spread}")
    return 1.0 / spread**2


def marginal_correction(spread: float, quantile: float) -> float:
    """What multiplies the class's hazard so that a fraction ``quantile`` of all lots together fails by t_q.

    1 - (1 + c H / a)**-a = q at the hazard H = -log(1 - q) gives c = a ((1 - q)**(-1 / a) - 1) / H, just above 1.
    """
    worth, q = lot_worth(spread), float(fraction("quantile", quantile))
    return float(worth * np.expm1(-np.log1p(-q) / worth) / -np.log1p(-q))


def chance_in_lot(chance: FloatArray, lot: Lot) -> FloatArray:
    """Chance of failing for parts of this lot, where the class's own chance is ``chance`` (any shape)."""
    hazard = -np.log1p(-np.minimum(chance, 1 - 1e-15))
    by_node = -np.expm1(-hazard[..., None] * lot.factor)
    averaged: FloatArray = by_node @ lot.weight
    return averaged


def _gamma_nodes(shape: float, rate: float) -> tuple[FloatArray, FloatArray]:
    """Gauss nodes and weights of a Gamma(shape, rate), from its generalised Laguerre recurrence (Golub & Welsch 1969).

    Exact for the moments up to 2 * NODES - 1: the mean in particular.
    """
    place = np.arange(NODES)
    diagonal = 2 * place + shape
    beside = np.sqrt(place[1:] * (place[1:] + shape - 1))
    values, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    return values / rate, vectors[0] ** 2
