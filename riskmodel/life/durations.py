"""Life rows from the shape many people keep: a duration and whether it ended in failure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.rows import LifeRows

SECONDS = {"seconds": 1.0, "hours": 3600.0, "days": 86400.0, "years": 365.25 * 86400.0}
EVENT_WORDS = {"yes": True, "no": False, "true": True, "false": False, "1": True, "0": False}


def rows_from_durations(
    durations: npt.ArrayLike,
    failed: Iterable[Any],
    *,
    entry: npt.ArrayLike | None = None,
    count: npt.ArrayLike | None = None,
    unit: str = "years",
) -> LifeRows:
    """Rows from durations that ended in failure (exact) or were still running (right-censored).

    Parameters
    ----------
    durations, entry : (n,) array_like
        Numbers in ``unit``, or time spans (timedelta), which are converted to ``unit``.
    failed : (n,) iterable
        yes/no, true/false, 1/0; anything else is refused.
    unit : {"years", "days", "hours", "seconds"}
        Unit of the result.

    Raises
    ------
    ParameterError
        For an unknown unit, an event word that is neither yes nor no, or what LifeRows refuses.
    """
    if unit not in SECONDS:
        raise ParameterError(f"unit must be one of {', '.join(SECONDS)}, got {unit!r}")
    ages = _numbers(durations, unit)
    ended = np.array([_event(row, word) for row, word in enumerate(failed, start=1)], dtype=bool)
    if len(ended) != len(ages):
        raise ParameterError(f"durations and failed must be equally long, got {len(ages)} and {len(ended)}")
    start = None if entry is None else _numbers(entry, unit)
    return LifeRows(ages, np.where(ended, ages, np.inf), start, count)


def _numbers(values: npt.ArrayLike, unit: str) -> FloatArray:
    array: Any = np.atleast_1d(np.asarray(values))
    if array.dtype.kind == "m":
        spans: FloatArray = array / np.timedelta64(1, "s") / SECONDS[unit]
        return spans
    try:
        numbers: FloatArray = array.astype(float)
    except (TypeError, ValueError) as fault:
        raise ParameterError(f"durations must be numbers or time spans, got {array[:3].tolist()}") from fault
    return numbers


def _event(row: int, word: Any) -> bool:
    text = str(word).strip().lower()
    text = {"1.0": "1", "0.0": "0"}.get(text, text)
    if text not in EVENT_WORDS:
        raise ParameterError(f"row {row}: failed must be yes or no (1 or 0), got {word!r}")
    return EVENT_WORDS[text]
