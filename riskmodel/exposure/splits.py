"""Powers of losses that stand between two points of the lattice, as masses on its points.

A loss at point k of which a share f stands one point higher has the transform phi = w^k (1 + f (w - 1)), and so
phi^j = w^(jk) times the sum over b of C(j, b) f^b (w - 1)^b: masses at the points jk to jk + b.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import comb

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.lattice import IntArray


def split_powers(order: int, point: IntArray, sums: Sequence[FloatArray]) -> tuple[IntArray, FloatArray]:
    """Points (b r,) and masses (b r, …) of phi**``order`` for risks at ``point`` (r,).

    ``sums``: for b = 0, 1, … the sums (r, …) by point of mass times f**b, as many as matter.
    """
    binomials = _binomials(order, min(len(sums), order + 1))
    index = point * order + np.arange(len(binomials))[:, None]
    stacked = np.array(sums[: len(binomials)])
    mass = binomials @ stacked.reshape(len(binomials), -1)
    return index.ravel(), mass.reshape(index.size, *stacked.shape[2:])


@cache
def _binomials(order: int, uppers: int) -> FloatArray:
    """(at, upper) how often a mass of f**upper counts so many points above: C(order, b) by those of (w - 1)**b."""
    return np.array(
        [
            [comb(order, upper) * comb(upper, at) * (-1.0) ** (upper - at) for upper in range(uppers)]
            for at in range(uppers)
        ]
    )


def may_matter(order: int, upper: int, mass: float, reach: float) -> float:
    """The most that b = ``upper`` or any later b brings where |w - 1| <= ``reach``, if f**(b - 1) has this ``mass``."""
    return mass * max((comb(order, each) * reach**each for each in range(upper, order + 1)), default=0.0)
