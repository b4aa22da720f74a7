"""One row form for everything a record can say about a life: (lower, upper, entry, count)."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError


@dataclass(frozen=True)
class LifeRows:
    """Ages at which lives of one class and clock ended, or were last seen whole.

    Parameters
    ----------
    lower, upper : (n,) array_like
        The end of life lies in [lower, upper], in one unit (years or hours). ``lower == upper``: failed at
        that age; ``upper = inf``: right-censored, still whole at ``lower``; ``lower = 0``: left-censored.
    entry : (n,) array_like, optional
        Age from which the life was watched (late entry, left truncation); 0 when left out.
    count : (n,) array_like, optional
        How many equal lives the row stands for, 0 or more; 1 when left out. Fractions are allowed.

    Rows that carry no information (whole at ``lower``, watched only from ``lower``) are dropped with one
    counted warning; rows of count 0 are dropped. ``lower`` is raised to ``entry`` where it lies below it.

    Raises
    ------
    ParameterError
        Naming the first row (counted from 1), the column and the rule it breaks.
    """

    lower: FloatArray
    upper: FloatArray
    entry: FloatArray
    count: FloatArray

    def __init__(
        self,
        lower: npt.ArrayLike,
        upper: npt.ArrayLike,
        entry: npt.ArrayLike | None = None,
        count: npt.ArrayLike | None = None,
    ) -> None:
        low, high = _column("lower", lower), _column("upper", upper)
        start = np.zeros(len(low)) if entry is None else _column("entry", entry)
        number = np.ones(len(low)) if count is None else _column("count", count)
        _refuse_lengths(low, high, start, number)
        _refuse_rows(low, high, start, number)
        unwatched = np.isinf(high) & (low == start) & (number > 0)
        if unwatched.any():
            warnings.warn(f"{int(unwatched.sum())} rows without exposure left out", stacklevel=2)
        keep = (number > 0) & ~(np.isinf(high) & (low <= start))
        for name, values in (
            ("lower", np.maximum(low, start)),
            ("upper", high),
            ("entry", start),
            ("count", number),
        ):
            object.__setattr__(self, name, values[keep])

    @classmethod
    def none(cls) -> LifeRows:
        """No rows at all: the posterior is the prior."""
        return cls([], [])

    def __len__(self) -> int:
        return len(self.lower)

    @property
    def failures(self) -> float:
        """Number of lives whose end was seen, to a date or to an interval."""
        return float(self.count[np.isfinite(self.upper)].sum())

    @property
    def survivors(self) -> float:
        """Number of lives still whole when last seen."""
        return float(self.count[np.isinf(self.upper)].sum())


def _column(name: str, values: npt.ArrayLike) -> FloatArray:
    array: Any = np.asarray(values)
    if array.dtype.kind == "m":
        raise ParameterError(
            f"{name} is a time span without a unit: convert it with rows_from_durations(unit=...)"
        )
    try:
        return np.atleast_1d(array.astype(float))
    except (TypeError, ValueError) as fault:
        raise ParameterError(f"{name} must be numbers, got {array.ravel()[:3].tolist()}") from fault


def _refuse_lengths(*columns: FloatArray) -> None:
    lengths = [len(column) for column in columns]
    if len(set(lengths)) > 1 or any(column.ndim != 1 for column in columns):
        raise ParameterError(f"lower, upper, entry and count must be equally long, got {lengths}")


def _refuse_rows(lower: FloatArray, upper: FloatArray, entry: FloatArray, count: FloatArray) -> None:
    exact = lower == upper
    right = np.isinf(upper)
    rules = (
        ("lower", ~(np.isfinite(lower) & (lower >= 0)), "must be a finite age of 0 or more", lower),
        (
            "upper",
            np.isnan(upper) | (upper < 0),
            "must be an age of 0 or more, inf when not yet failed",
            upper,
        ),
        ("entry", ~(np.isfinite(entry) & (entry >= 0)), "must be a finite age of 0 or more", entry),
        ("count", ~(np.isfinite(count) & (count >= 0)), "must be a finite number of 0 or more", count),
        ("lower", lower > upper, "must not be above upper", lower),
        (
            "lower",
            exact & (lower == 0),
            "a failure at age 0 has no date: give the interval [0, resolution]",
            lower,
        ),
        ("entry", right & (entry > lower), "must not be above the age last seen", entry),
        ("entry", ~right & (entry >= upper), "must lie below the age at failure: no time was watched", entry),
    )
    for column, bad, rule, values in rules:
        if bad.any():
            row = int(np.argmax(bad))
            raise ParameterError(f"row {row + 1}: {column} {rule}, got {values[row]}")
