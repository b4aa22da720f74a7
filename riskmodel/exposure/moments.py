"""Mean, spread and errors of a book in closed form, beside its distribution."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.distribution import LossDistribution, LossErrors
from riskmodel.exposure.lattice import Lattice, place
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.series import SERIES_ERROR
from riskmodel.exposure.window import OUTSIDE


@dataclass(frozen=True)
class Moments:
    """Mean and variance of a total, and both of its expected sum of squares: what a factor s scales by s and s²."""

    mean: float
    squares: float
    squared_means: float

    @property
    def variance(self) -> float:
        """Of independent risks: E[sum of squares] less the sum of squared means."""
        return max(self.squares - self.squared_means, 0.0)


def moments(risks: Risks) -> Moments:
    """Of independent risks, each losing at most once."""
    parts = np.array([(0.0, 0.0, 0.0), *map(_sums, risks.blocks())]).sum(axis=0)
    return Moments(*map(float, parts))


def _sums(risks: Risks) -> tuple[float, float, float]:
    once = risks.chance * risks.mean_loss
    return risks.total(once), risks.total(risks.chance * risks.mean_square), risks.total(once * once)


def poisson_moments(rates: Risks) -> Moments:
    """Of Poisson counts of losses: the variance is the expected sum of squares."""
    return Moments(
        rates.total(rates.chance * rates.mean_loss), rates.total(rates.chance * rates.mean_square), 0.0
    )


def chance_alone(risks: Risks, lattice: Lattice, pmf: FloatArray, found: Moments) -> LossDistribution:
    """The distribution of a book that shares no factor: ``pmf`` (points,) on the lattice, with its own moments."""
    sd = found.variance**0.5
    return LossDistribution(
        mean=found.mean,
        sd=sd,
        pmf=pmf,
        step=lattice.step,
        start=lattice.first * lattice.step,
        process_sd=sd,
        errors=errors(risks, lattice, found.variance),
    )


def added_variance(risks: Risks, lattice: Lattice) -> FloatArray:
    """(n,) by how much splitting the one loss of each risk between two points raises its mean square."""
    share = place(risks.loss, lattice.step).share
    grown = share * (1.0 - share) * lattice.step**2
    return grown[:, 0] if risks.single else np.einsum("nk,nk->n", risks.weight, grown)


def errors(risks: Risks, lattice: Lattice, variance: float, lumpiness: float = 0.0) -> LossErrors:
    """What the lattice does to a book whose true variance is ``variance``.

    Splitting a loss between two points raises no expected excess by more than share (1 - share) step; and for
    the total S' = S + D with E[D | S] = 0 it is at most E|D| / 2, so at most half the deviation of D.
    """
    added = sum(some.total(some.chance * added_variance(some, lattice)) for some in risks.blocks())
    return LossErrors(
        discretisation=float(np.sqrt(variance + added) - np.sqrt(variance)),
        moved=float(min(added / lattice.step, 0.5 * np.sqrt(added))),
        wrap=0.0 if lattice.whole else 2.0 * OUTSIDE,
        truncation=SERIES_ERROR,
        lumpiness=lumpiness,
    )
