"""What one cell of a trade table may hold: each rule turns text into a value or says what was wanted."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

Cell = Callable[[str], Any]

LARGEST, LEAST = 1e15, 1e-12
"""No number of a trade table is larger, nor one above nought less: money in any currency, or a chance (judgement)."""


def text(value: str) -> str:
    """Words; not empty."""
    if not value:
        raise ValueError("must not be empty")
    return value


def free_text(value: str) -> str:
    """Words, or nothing."""
    return value


def yes_no(value: str) -> bool:
    """The word yes or no."""
    return bool(word("yes", "no")(value) == "yes")


def word(*allowed: str) -> Cell:
    """Exactly one of the allowed words."""

    def read(value: str) -> str:
        if value not in allowed:
            raise ValueError(f"must be one of {', '.join(allowed)}")
        return value

    return read


def words(separator: str) -> Cell:
    """One word or several, joined by a separator."""

    def read(value: str) -> tuple[str, ...]:
        parts = tuple(part.strip() for part in value.split(separator))
        if not all(parts):
            raise ValueError(f"must be one or more words joined by {separator!r}")
        return parts

    return read


def number(low: float = 0.0, high: float = LARGEST) -> Cell:
    """A number in [low, high]."""
    wanted = (
        f"must be a number from {low:g} to {high:g}"
        if high < LARGEST
        else f"must be a number from {low:g} up"
    )

    def read(value: str) -> float:
        try:
            found = float(value)
        except ValueError:
            raise ValueError(wanted) from None
        if high == LARGEST:
            _refuse_beyond(found)
        if not low <= found <= high:
            raise ValueError(wanted)
        return found

    return read


def positive(value: str) -> float:
    """A number above zero."""
    try:
        found = float(value)
    except ValueError:
        found = 0.0
    _refuse_beyond(found)
    if not 0.0 < found < math.inf:
        raise ValueError("must be a number above 0")
    if found < LEAST:
        raise ValueError(f"must be {LEAST:g} or more")
    return found


def _refuse_beyond(found: float) -> None:
    if LARGEST < found < math.inf:
        raise ValueError(f"must be at most {LARGEST:g}")


def year(value: str) -> int:
    """A calendar year in four digits."""
    if not (value.isascii() and value.isdigit() and len(value) == 4):
        raise ValueError("must be a year in four digits")
    return int(value)


def optional(cell: Cell) -> Cell:
    """The same, or an empty cell (None)."""

    def read(value: str) -> Any:
        return cell(value) if value else None

    return read
