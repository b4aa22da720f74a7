"""A life whose prior gives way when records contradict it, instead of a confident answer between the two.

The normals of the prior become mixtures with wider normals of the same middle (a scale mixture, as a Student t is):
as long as records and trade interval agree the wide parts weigh next to nothing; where they disagree the wide parts
win and the records speak. Used only where the plain fit flags a conflict.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life.life import Life, fit_life
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.rows import LifeRows

# Widths of the mixture, in prior standard deviations, and their shares (judgement: one class in five is not as its
# trade interval says, one in twenty not at all).
WIDTHS = np.array([1.0, 2.0, 6.0])
SHARES = np.array([0.80, 0.15, 0.05])


def robust_life(rows: LifeRows, prior: WeibullPrior) -> Life:
    """The plain life where records and prior agree; under the mixture of widths where they conflict.

    The answer keeps ``prior``, so that ``shift`` and ``conflict`` still say how far the records moved.
    """
    plain = fit_life(rows, prior)
    if not plain.conflict:
        return plain
    widest = WIDTHS[-1]
    wide = fit_life(
        rows, replace(prior, log_shape_sd=widest * prior.log_shape_sd, log_age_sd=widest * prior.log_age_sd)
    )
    nodes = wide.nodes
    away = (
        _standard(nodes.log_shape - prior.log_shape, prior.log_shape_sd),
        _standard(nodes.log_age - prior.log_age, prior.log_age_sd),
    )
    mixture = sum(
        share * width**-2.0 * np.exp(-0.5 * (away[0] ** 2 + away[1] ** 2) / width**2)
        for share, width in zip(SHARES, WIDTHS, strict=True)
    )
    own = widest**-2.0 * np.exp(-0.5 * (away[0] ** 2 + away[1] ** 2) / widest**2)
    weight = nodes.weight * mixture / own
    mode = nodes.mode
    return Life(prior, rows, replace(nodes, weight=weight / weight.sum(), mode=mode))


def _standard(distance: FloatArray, sd: float) -> FloatArray:
    return distance / sd if sd > 0 else np.zeros_like(distance)
