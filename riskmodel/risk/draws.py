"""One fixed set of draws of everything uncertain, by class parameter, so that parts of a class move together."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from zlib import crc32

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.life import Life

# Draws per parameter: rank bands at 5 % and 95 % rest on 8 draws a side.
DRAWS = 160
# A published range is read as a central 90 % interval of a log-normal.
WIDTH_90 = 2 * 1.6448536269514722


@dataclass(frozen=True)
class Draws:
    """A seed; every named parameter has its own column of one Latin hypercube.

    Latin hypercube sampling (McKay, Beckman & Conover 1979): each parameter alone is stratified to 1/DRAWS. It is
    used in place of a Sobol set because a fleet has hundreds of parameters, and because it costs no import.
    """

    seed: int = 1

    def uniform(self, name: str) -> FloatArray:
        """(DRAWS,) stratified uniforms of the parameter ``name``; the same name always gives the same draws."""
        generator = np.random.Generator(np.random.PCG64([self.seed, crc32(name.encode())]))
        return (generator.permutation(DRAWS) + 0.5) / DRAWS

    def normal(self, name: str) -> FloatArray:
        """(DRAWS,) stratified standard normals of the parameter ``name``."""
        place = (self.uniform(name) * DRAWS).astype(int)
        normals: FloatArray = _NORMALS[place]
        return normals

    def between(self, name: str, low: FloatArray, high: FloatArray) -> FloatArray:
        """(n, DRAWS) log-normal draws whose central 90 % runs from ``low`` to ``high`` (n,); 0 to 0 stays 0."""
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

    def life(self, name: str, life: Life) -> tuple[FloatArray, FloatArray]:
        """(DRAWS,) shapes and log scales from a life's posterior."""
        nodes = life.nodes
        columns, place = np.unique(nodes.log_shape, return_inverse=True)
        log_shape, column = _inside_columns(
            columns, np.bincount(place, weights=nodes.weight).astype(float), self.uniform(name + "/shape")
        )
        wanted = self.uniform(name + "/age")
        log_age = np.empty(DRAWS)
        for each in np.unique(column):
            here, there = column == each, place == each
            weight = nodes.weight[there]
            middle = (np.cumsum(weight) - weight / 2) / weight.sum()
            log_age[here] = np.interp(wanted[here], middle, nodes.log_age[there])
        return np.exp(log_shape), log_age - life.log_hazard_at_quantile / np.exp(log_shape)


def _inside_columns(
    columns: FloatArray, weight: FloatArray, wanted: FloatArray
) -> tuple[FloatArray, np.ndarray[tuple[int], np.dtype[np.intp]]]:
    """Log shapes at the wanted fractions, spread inside the grid's columns, and the column each falls in."""
    right = np.cumsum(weight)
    column = np.minimum(np.searchsorted(right, wanted * right[-1]), len(columns) - 1)
    if len(columns) == 1:
        return np.full(len(wanted), columns[0]), column
    share = (wanted * right[-1] - (right - weight)[column]) / weight[column] - 0.5
    return columns[column] + share * np.gradient(columns)[column], column


_NORMALS = np.array([NormalDist().inv_cdf((place + 0.5) / DRAWS) for place in range(DRAWS)])
