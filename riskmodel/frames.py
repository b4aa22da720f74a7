"""The two ways this library walks a frame: row by row for people, group by group for arrays."""

from __future__ import annotations

from collections.abc import Iterator
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
