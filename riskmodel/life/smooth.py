"""A smooth function over a fine grid from its values at a few points, checked before it is believed.

Where a class has many distinct intervals its posterior is narrow, and over the grid their likelihood is close
to a low polynomial: a fortieth of the grid's points tell it to the last digit that matters.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from riskmodel.arrays import FloatArray

# Function of log shapes (m,) and log ages (m, n), (m, n) in return.
OnGrid = Callable[[FloatArray, FloatArray], FloatArray]

# Points a side, tried in turn.
POINTS = (7, 13)
# A log density off by this moves no weight by more than its ten-millionth part.
TOLERANCE = 1e-7


def over_grid(exact: OnGrid, log_shape: FloatArray, log_age: FloatArray) -> FloatArray:
    """``exact(log_shape, log_age)``, by polynomials where they agree with it, else in full.

    ``log_shape`` (m,) must go in even steps, ``log_age`` (m, n) too along both axes.
    """
    for points in POINTS:
        if min(log_age.shape) > 2 * points:
            found = _by_polynomial(exact, log_shape, log_age, points)
            if _agrees(exact, found, log_shape, log_age):
                return found
    return exact(log_shape, log_age)


def _by_polynomial(exact: OnGrid, log_shape: FloatArray, log_age: FloatArray, points: int) -> FloatArray:
    """Chebyshev interpolation in both directions of the grid, its own places as the coordinates."""
    corners = log_age[np.ix_([0, -1], [0, -1])]
    place = (1 - np.cos(np.pi * np.arange(points) / (points - 1))) / 2
    ends = np.stack([1 - place, place], axis=1)
    values = exact(ends @ log_shape[[0, -1]], ends @ corners @ ends.T)
    across, along = (_weights(place, np.linspace(0, 1, size)) for size in log_age.shape)
    found: FloatArray = across @ values @ along.T
    return found


def _weights(place: FloatArray, wanted: FloatArray) -> FloatArray:
    """Barycentric weights (wanted, place) of the polynomial through values at Chebyshev places.

    Source: Berrut and Trefethen 2004, Barycentric Lagrange interpolation (from memory).
    """
    sign = (-1.0) ** np.arange(len(place))
    sign[[0, -1]] /= 2
    gap = wanted[:, None] - place
    with np.errstate(divide="ignore", invalid="ignore"):
        share = sign / gap
        weights: FloatArray = share / share.sum(axis=1, keepdims=True)
    hit = gap == 0
    weights[hit.any(axis=1)] = hit[hit.any(axis=1)]
    return weights


def _agrees(exact: OnGrid, found: FloatArray, log_shape: FloatArray, log_age: FloatArray) -> bool:
    """True when the polynomial is right between its points: near each corner, each side and the middle."""
    rows, columns = ([1, size // 2 + 1, size - 3] for size in log_age.shape)
    there = exact(log_shape[rows], log_age[np.ix_(rows, columns)])
    return bool(np.abs(found[np.ix_(rows, columns)] - there).max() < TOLERANCE)
