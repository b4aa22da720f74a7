"""One fixed set of draws of everything uncertain: each named quantity has its own column of one Latin hypercube."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from zlib import crc32

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray

# A published range is read as a central 90 % interval of a log-normal.
WIDTH_90 = 2 * 1.6448536269514722


@dataclass(frozen=True)
class Hypercube:
    """``count`` draws from a seed; every named quantity has its own column.

    Latin hypercube sampling (McKay, Beckman & Conover 1979): each quantity alone is stratified to 1/count. It is
    used in place of a Sobol set because a fleet has hundreds of quantities, and because it costs no import.
    """

    seed: int
    count: int

    def strata(self, name: str) -> npt.NDArray[np.intp]:
        """(count,) the stratum of each draw of the quantity ``name``; the same name always gives the same draws."""
        generator = np.random.Generator(np.random.PCG64([self.seed, crc32(name.encode())]))
        return generator.permutation(self.count)

    def uniform(self, name: str) -> FloatArray:
        """(count,) stratified uniforms of the quantity ``name``."""
        values: FloatArray = (self.strata(name) + 0.5) / self.count
        return values

    def normal(self, name: str) -> FloatArray:
        """(count,) stratified standard normals of the quantity ``name``."""
        values: FloatArray = _normals(self.count)[self.strata(name)]
        return values

    def between(self, name: str, low: FloatArray, high: FloatArray) -> FloatArray:
        """(n, count) log-normal draws whose central 90 % runs from ``low`` to ``high`` (n,); 0 to 0 stays 0."""
        floor = np.finfo(float).tiny
        log_low, log_high = np.log(np.maximum(low, floor)), np.log(np.maximum(high, floor))
        # From nothing to something: one e-fold of doubt a standard deviation.
        log_low = np.where(low > 0, log_low, log_high - WIDTH_90)
        middle, sd = 0.5 * (log_low + log_high), (log_high - log_low) / WIDTH_90
        drawn = np.exp(middle[:, None] + sd[:, None] * self.normal(name))
        # The tail beyond the last stratum is missing from the draws' mean: put it back.
        drawn *= (np.exp(middle + 0.5 * sd**2) / drawn.mean(axis=1))[:, None]
        values: FloatArray = np.where(high[:, None] > 0, drawn, 0.0)
        return values


@lru_cache(maxsize=8)
def _normals(count: int) -> FloatArray:
    return np.array([NormalDist().inv_cdf((place + 0.5) / count) for place in range(count)])
