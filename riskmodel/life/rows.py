"""One row form for everything a record can say about a life: (lower, upper, entry, count)."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.blocks import each_block


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
    Arrays of floats that need no change are held and not copied: do not write to them afterwards.

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
        # A constant column is one number seen n times, not n numbers.
        start = np.broadcast_to(0.0, len(low)) if entry is None else _column("entry", entry)
        number = np.broadcast_to(1.0, len(low)) if count is None else _column("count", count)
        _refuse_lengths(low, high, start, number)
        found = _settled(low, high, start, number)
        if found.unwatched:
            warnings.warn(f"{found.unwatched} rows without exposure left out", stacklevel=2)
        columns = {
            "lower": np.maximum(low, start) if found.raised else low,
            "upper": high,
            "entry": start,
            "count": number,
        }
        for name, values in columns.items():
            kept = np.delete(values, found.dropped) if len(found.dropped) else values.view()
            kept.flags.writeable = False
            object.__setattr__(self, name, kept)

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
        return np.atleast_1d(array.astype(float, copy=False))
    except (TypeError, ValueError) as fault:
        raise ParameterError(f"{name} must be numbers, got {array.ravel()[:3].tolist()}") from fault


def _refuse_lengths(*columns: FloatArray) -> None:
    lengths = [len(column) for column in columns]
    if len(set(lengths)) > 1 or any(column.ndim != 1 for column in columns):
        raise ParameterError(f"lower, upper, entry and count must be equally long, got {lengths}")


@dataclass(frozen=True)
class _Settled:
    """What the rows ask for: how many carry no information, which to leave out, whether to raise ``lower``."""

    unwatched: int
    dropped: npt.NDArray[np.intp]
    raised: bool


def _settled(lower: FloatArray, upper: FloatArray, entry: FloatArray, count: FloatArray) -> _Settled:
    """Refuses rows that cannot be, and finds what the others ask for."""

    def settle(part: slice) -> _Settled:
        low, high, came, number = lower[part], upper[part], entry[part], seen_once(count[part])
        late = np.flatnonzero(came >= low)
        if not _sound(low, high, came, number, late):
            _refuse_rows(part.start, low, high, came, count[part])
        idle = late[np.isinf(high[late])]
        empty = np.flatnonzero(count[part] == 0) if number.min() == 0 else late[:0]
        raised = bool((came[late] > low[late]).any())
        return _Settled(len(np.setdiff1d(idle, empty)), part.start + np.union1d(idle, empty), raised)

    found = list(each_block(settle, len(lower)))
    dropped = [block.dropped for block in found]
    return _Settled(
        sum(block.unwatched for block in found),
        np.concatenate([*dropped, np.empty(0, dtype=np.intp)]),
        any(block.raised for block in found),
    )


def seen_once(column: FloatArray) -> FloatArray:
    """One entry of a column that is one number seen n times, as those left out are; else the column."""
    return column[:1] if column.strides == (0,) else column


def _sound(
    lower: FloatArray, upper: FloatArray, entry: FloatArray, count: FloatArray, late: npt.NDArray[np.intp]
) -> bool:
    """True when no row breaks a rule: one comparison of the whole block a rule, none of the rows.

    NaN spreads through min and compares false, so it breaks a rule wherever it stands. ``late``: the places
    where entry is not below lower.
    """
    at_least_nought = lower.min() >= 0 and entry.min() >= 0 and count.min() >= 0
    finite = lower.max() < np.inf and count.max() < np.inf
    ordered = (lower <= upper).all() and (entry < upper).all()
    seen = ((entry[late] == lower[late]) | (upper[late] < np.inf)).all()
    return bool(at_least_nought and finite and ordered and seen)


def _refuse_rows(
    start: int, lower: FloatArray, upper: FloatArray, entry: FloatArray, count: FloatArray
) -> None:
    """Raises for the first rule broken in a block of rows that begins after row ``start``."""
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
            raise ParameterError(f"row {start + row + 1}: {column} {rule}, got {values[row]}")
