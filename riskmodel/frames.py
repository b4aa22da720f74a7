"""The two ways this library walks a frame: row by row for people, group by group for arrays; and its housekeeping."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd


def each_row(frame: pd.DataFrame) -> Iterator[Any]:
    """Rows as named tuples, one field a column; for reports, where there are few."""
    yield from frame.itertuples()


def places_by(words: pd.Series) -> dict[str, npt.NDArray[np.intp]]:
    """Positions (not labels) of each word in ``words``, in order of the words."""
    groups = words.reset_index(drop=True).groupby(words.to_numpy(), sort=True).indices
    return {str(word): np.asarray(place, dtype=np.intp) for word, place in groups.items()}


@contextmanager
def rare_collection() -> Iterator[None]:
    """Lets the garbage collector run more rarely: frames are many small objects, and none of them is a ring.

    The collector is the whole process's: of calls that overlap, in threads, the first changes it and the last one out
    puts back what the first found.
    """
    _RARE.enter()
    try:
        yield
    finally:
        _RARE.leave()


class _Rare:
    """How many callers want rare collections, and what holds when none does."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.callers = 0
        self.before = (0, 0, 0)

    def enter(self) -> None:
        with self.lock:
            if self.callers == 0:
                self.before = gc.get_threshold()
                gc.set_threshold(500_000, 50, 50)
            self.callers += 1

    def leave(self) -> None:
        with self.lock:
            self.callers -= 1
            if self.callers == 0:
                gc.set_threshold(*self.before)


_RARE = _Rare()
