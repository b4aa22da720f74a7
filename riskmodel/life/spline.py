"""A cubic spline through evenly spaced knots, small enough to need no import of its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray

# One-sided slope at an end from five values, exact for quartics (finite differences, from memory).
END = np.array([-25.0, 48.0, -36.0, 16.0, -3.0]) / 12


@dataclass(frozen=True)
class Spline:
    """Values and slopes (a step) at knots ``first, first + step, ...``; twice differentiable between them."""

    first: float
    step: float
    values: FloatArray
    slopes: FloatArray

    def __call__(self, x: FloatArray) -> FloatArray:
        """The spline at ``x``; beyond the knots the last piece goes on."""
        along = (x - self.first) / self.step
        left = np.clip(along.astype(np.intp), 0, len(self.values) - 2)
        t = along - left
        rise = self.values[left + 1] - self.values[left]
        from_left, from_right = self.slopes[left] - rise, rise - self.slopes[left + 1]
        bow = (1 - t) * from_left + t * from_right
        result: FloatArray = self.values[left] + t * (rise + (1 - t) * bow)
        return result


def even_spline(first: float, step: float, values: FloatArray) -> Spline:
    """The spline through ``values`` (n,), n at least 5, at even steps from ``first``."""
    slopes = np.empty(len(values))
    slopes[0], slopes[-1] = END @ values[:5], -END @ values[:-6:-1]
    slopes[1:-1] = _inner_slopes(3 * (values[2:] - values[:-2]), slopes[0], slopes[-1])
    return Spline(first, step, values, slopes)


def _inner_slopes(right: FloatArray, first: float, last: float) -> FloatArray:
    """Solves slope[i - 1] + 4 slope[i] + slope[i + 1] = right[i] with both end slopes given, by elimination."""
    todo = right.copy()
    todo[0] -= first
    todo[-1] -= last
    share = np.empty(len(todo))
    pivot = 4.0
    for i in range(len(todo)):
        if i:
            pivot = 4.0 - share[i - 1]
            todo[i] -= todo[i - 1]
        share[i] = 1.0 / pivot
        todo[i] /= pivot
    for i in range(len(todo) - 2, -1, -1):
        todo[i] -= share[i] * todo[i + 1]
    return todo
