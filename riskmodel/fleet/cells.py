"""The raw table between a file and its checks: columns of text, kept as distinct words and codes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from riskmodel.safe_text import HARMFUL, visible


@dataclass(frozen=True)
class Cells:
    """One column as its distinct texts, and for each row which of them stands there.

    A million dates are some thousands of distinct days, so every check looks at ``words`` and not at rows.
    """

    words: NDArray[Any]
    codes: NDArray[np.int64]

    @property
    def values(self) -> NDArray[Any]:
        """The text of each row."""
        taken: NDArray[Any] = self.words[self.codes]
        return taken


@dataclass(frozen=True)
class RawTable:
    """A table as read, before any check of its values.

    ``rows`` holds the row numbers a spreadsheet shows (the head is row 1); ``decimal`` is the mark in its
    numbers; ``workbook`` says that the dates may be a spreadsheet's day numbers.
    """

    file: str
    columns: Mapping[str, Cells]
    rows: NDArray[np.int64]
    decimal: str = "."
    workbook: bool = False


def cells_of(column: pa.Array | pa.ChunkedArray) -> Cells:
    """An Arrow column of any plain type as trimmed texts; nulls and NaN are empty text.

    What could steer a screen or hide is made visible here, once for all that people read later (``safe_text``).
    """
    if pa.types.is_dictionary(column.type):
        column = column.cast(column.type.value_type)
    if _holds_bytes(column.type) or pa.types.is_null(column.type):
        # Some writers do not say that their bytes are text, or of an empty column what it would hold.
        column = column.cast(pa.string())
    if pa.types.is_string(column.type) or pa.types.is_large_string(column.type):
        column = pc.fill_null(pc.utf8_trim_whitespace(column), "")
    encoded = pc.dictionary_encode(column, null_encoding="encode")
    if isinstance(encoded, pa.ChunkedArray):
        encoded = encoded.combine_chunks() if encoded.num_chunks != 1 else encoded.chunk(0)
    return Cells(_texts(encoded.dictionary), encoded.indices.to_numpy(zero_copy_only=False).astype(np.int64))


def _holds_bytes(kind: Any) -> bool:
    return bool(
        pa.types.is_binary(kind) or pa.types.is_large_binary(kind) or pa.types.is_fixed_size_binary(kind)
    )


def _texts(values: pa.Array) -> NDArray[Any]:
    if pa.types.is_string(values.type) or pa.types.is_large_string(values.type):
        texts: NDArray[Any] = values.to_numpy(zero_copy_only=False)
        return _visible(values, texts)
    return np.array([text_of(value) for value in values.to_pylist()], dtype=object)


def _visible(values: pa.Array, texts: NDArray[Any]) -> NDArray[Any]:
    """The texts, of which the few that hold a harmful character are written anew."""
    places = np.flatnonzero(pc.match_substring_regex(values, HARMFUL).to_numpy(zero_copy_only=False))
    if not places.size:
        return texts
    changed = texts.copy()
    changed[places] = [visible(text) for text in texts[places]]
    return changed


def text_of(value: object) -> str:
    """One cell as text: 12.0 as 12, a date as 2020-01-31, true as yes, nothing as empty text."""
    if value is None or value != value:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() and abs(value) < 1e15 else repr(value)
    if hasattr(value, "isoformat"):
        return str(value.isoformat())
    return str(value).strip()
