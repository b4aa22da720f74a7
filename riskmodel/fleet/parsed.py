"""What reading the distinct words of a column gives: a value and a broken rule for each word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from numpy.typing import NDArray


@dataclass(frozen=True)
class Parsed:
    """``values`` has one row a word; ``rules`` holds the rule a word breaks, "" for none."""

    values: NDArray[Any]
    rules: NDArray[Any]
