"""The year's loss of independent risks, exact on a money lattice."""

from __future__ import annotations

import numpy.typing as npt

from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.lattice import choose_lattice
from riskmodel.exposure.moments import chance_alone, moments
from riskmodel.exposure.risks import checked_risks
from riskmodel.exposure.spectrum import spectrum_of
from riskmodel.exposure.transforms import chances


def annual_loss(
    probability: npt.ArrayLike,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None = None,
    step: float | None = None,
    *,
    count: npt.ArrayLike | None = None,
) -> LossDistribution:
    """A year's total of independent risks, each losing at most once, as a distribution.

    Parameters
    ----------
    probability : (n,)
        Chance that the risk loses in the year, 0 to 1.
    loss : (n,) or (n, k)
        What it then loses [currency]: one amount, or k outcomes that exclude one another.
    weight : (n, k), optional
        Chances of the outcomes given a loss; each row adds to 1.
    step : float, optional
        Spacing of the lattice [currency]. Left out: the losses' common unit, else a fine one.
    count : (n,), optional
        How many equal risks each row stands for; the cost is that of the rows.

    Exact where losses are multiples of the step; others are split between two points with their mean kept, and
    ``errors`` says what that does. Characteristic functions are multiplied on the lattice (Heckman & Meyers
    1983).

    Raises
    ------
    ParameterError
        For chances outside [0, 1], negative losses, weights that do not add to 1, or a step too small to hold.
    """
    risks = checked_risks(probability, loss, weight, count)
    lattice = choose_lattice(risks, step)
    pmf = chances(spectrum_of(risks, lattice).whole(lattice), lattice)
    return chance_alone(risks, lattice, pmf, moments(risks))
