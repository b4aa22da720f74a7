"""The draws behind bands and ranks: lives, paths and barriers of a class move together in each of them."""

from __future__ import annotations

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.hypercube import Hypercube
from riskmodel.life import Life

# Draws per parameter: rank bands at 5 % and 95 % rest on 8 draws a side.
DRAWS = 160


class Draws(Hypercube):
    """DRAWS draws of every parameter from a seed; and of a life, whose shape and age belong together."""

    def __init__(self, seed: int = 1) -> None:
        super().__init__(seed, DRAWS)

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
