"""The year's loss where losses come in Poisson numbers: compound Poisson, on the same lattice."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.factors import NEGLIGIBLE
from riskmodel.exposure.kinds import placed_mass
from riskmodel.exposure.lattice import Lattice, limited_lattice, limits_of
from riskmodel.exposure.moments import chance_alone, poisson_moments
from riskmodel.exposure.risks import Risks, checked_rates
from riskmodel.exposure.spectrum import Spectrum
from riskmodel.exposure.transforms import chances, transform


def poisson_loss(
    rate: npt.ArrayLike,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None = None,
    step: float | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LossDistribution:
    """A year's total where row i brings a Poisson number of losses with mean ``rate[i]``.

    Parameters
    ----------
    rate : (n,) or a number
        Losses a year, 0 or more.
    loss, weight, step, count
        As in ``annual_loss``; with a single rate, ``loss`` and ``weight`` may be plain lists of its outcomes.

    Raises ParameterError as ``annual_loss`` does.
    """
    rates = checked_rates(rate, loss, weight, count)
    lattice = limited_lattice(rates, step, limits_of(rates))
    pmf = chances(poisson_spectrum(rates, lattice).whole(lattice), lattice)
    return chance_alone(rates, lattice, pmf, poisson_moments(rates))


def poisson_spectrum(rates: Risks, lattice: Lattice) -> Spectrum:
    """exp of the sum of rate (phi - 1): one transform, however many rows."""
    found = transform(placed_mass(rates, rates.times(rates.chance), lattice))
    log = found - found[0].real
    frequencies = np.flatnonzero(log.real >= -NEGLIGIBLE)
    return Spectrum(frequencies, np.exp(log[frequencies]))
