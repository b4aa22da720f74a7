"""Array helpers every floor shares: the float array type, plain checks, weighted quantiles."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.errors import ParameterError

FloatArray = npt.NDArray[np.float64]
# A quantile is averaged over this share of its tail on either side: wide enough that single nodes of a grid do not
# show, narrow enough to bias a 5 % bound by less than 0.003 of a standard deviation.
WINDOW = 0.2


def not_negative(name: str, values: npt.ArrayLike) -> FloatArray:
    """``values`` as floats; raises ParameterError unless each is a finite number of 0 or more."""
    array = np.asarray(values, dtype=float)
    # A smallest and a largest value take a fraction of the time of a mask; neither comparison holds for nan.
    if array.size and not (array.min() >= 0 and array.max() < np.inf):
        bad = ~(np.isfinite(array) & (array >= 0))
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
    """Quantiles along the last axis of ``values`` (..., n) with weights (n,), averaged over near probabilities.

    Returns an array of shape ``probability.shape + values.shape[:-1]``. Where every value rises, so does the
    quantile: interpolation between mid-weights does not keep that, for the order of the values may change.
    """
    order = np.argsort(values, axis=-1, kind="stable")
    ordered = np.take_along_axis(values, order, axis=-1)
    mass = weights[order] / np.sum(weights)
    upto = np.cumsum(mass, axis=-1)
    wanted = np.asarray(probability, dtype=float)
    found = [_near_quantile(ordered, upto - mass, upto, p) for p in wanted.ravel()]
    return np.stack(found).reshape(wanted.shape + values.shape[:-1])


def _near_quantile(
    ordered: FloatArray, before: FloatArray, upto: FloatArray, probability: float
) -> FloatArray:
    width = WINDOW * min(probability, 1.0 - probability)
    low, high = probability - width, probability + width
    share = np.maximum(np.minimum(upto, high) - np.maximum(before, low), 0.0)
    mean = np.sum(ordered * share, axis=-1) / np.sum(share, axis=-1)
    result: FloatArray = np.clip(mean, ordered[..., 0], ordered[..., -1])
    return result


def _first(array: FloatArray, bad: npt.NDArray[np.bool_]) -> str:
    where: Any = np.argwhere(bad)[0]
    value = array[tuple(where)]
    return f"{value}" if array.ndim == 0 else f"{value} at position {', '.join(str(i) for i in where)}"
