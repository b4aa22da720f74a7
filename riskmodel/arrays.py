"""Array helpers every floor shares: the float array type, plain checks, weighted quantiles."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.errors import ParameterError

FloatArray = npt.NDArray[np.float64]


def not_negative(name: str, values: npt.ArrayLike) -> FloatArray:
    """``values`` as floats; raises ParameterError unless each is a finite number of 0 or more."""
    array = np.asarray(values, dtype=float)
    bad = ~(np.isfinite(array) & (array >= 0))
    if bad.any():
        raise ParameterError(f"{name} must be 0 or more and finite, got {_first(array, bad)}")
    return array


def fraction(name: str, values: npt.ArrayLike) -> FloatArray:
    """``values`` as floats; raises ParameterError unless each lies strictly between 0 and 1."""
    array = np.asarray(values, dtype=float)
    bad = ~((array > 0) & (array < 1))
    if bad.any():
        raise ParameterError(f"{name} must lie between 0 and 1, got {_first(array, bad)}")
    return array


def weighted_quantile(values: FloatArray, weights: FloatArray, probability: npt.ArrayLike) -> FloatArray:
    """Quantiles along the last axis of ``values`` (..., n) with weights (n,), linear between mid-weights.

    Returns an array of shape ``probability.shape + values.shape[:-1]``.
    """
    order = np.argsort(values, axis=-1, kind="stable")
    ordered = np.take_along_axis(values, order, axis=-1)
    mass = weights[order]
    middle = (np.cumsum(mass, axis=-1) - 0.5 * mass) / np.sum(weights)
    wanted = np.asarray(probability, dtype=float)
    found = [_interpolate(ordered, middle, p) for p in wanted.ravel()]
    return np.stack(found).reshape(wanted.shape + values.shape[:-1])


def _interpolate(ordered: FloatArray, middle: FloatArray, probability: float) -> FloatArray:
    last = ordered.shape[-1] - 1
    right = np.clip((middle < probability).sum(axis=-1), 0, last)[..., None]
    left = np.maximum(right - 1, 0)
    x0, x1 = (np.take_along_axis(middle, index, axis=-1) for index in (left, right))
    y0, y1 = (np.take_along_axis(ordered, index, axis=-1) for index in (left, right))
    gap = np.where(x1 > x0, x1 - x0, 1.0)
    share = np.clip((probability - x0) / gap, 0.0, 1.0)
    result: FloatArray = (y0 + share * (y1 - y0))[..., 0]
    return result


def _first(array: FloatArray, bad: npt.NDArray[np.bool_]) -> str:
    where: Any = np.argwhere(bad)[0]
    value = array[tuple(where)]
    return f"{value}" if array.ndim == 0 else f"{value} at position {', '.join(str(i) for i in where)}"
