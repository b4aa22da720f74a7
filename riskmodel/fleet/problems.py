"""Turns rows that break a rule into problems that name their place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.errors import Problem
from riskmodel.safe_text import visible


def problems_at(
    file: str,
    column: str,
    rows: Sequence[int] | NDArray[Any],
    rules: NDArray[Any] | str,
    values: NDArray[Any],
) -> list[Problem]:
    """One problem a row; ``rules`` is one rule for all of them or a rule for each."""
    each = np.broadcast_to(np.asarray(rules, dtype=object), (len(rows),))
    return [
        Problem(file, int(row), column, str(rule), shown(value))
        for row, rule, value in zip(rows, each, values, strict=True)
    ]


def shown(value: object) -> str:
    """A value as a message shows it; an empty cell reads ``nothing``, and long text is cut."""
    text = visible(str(value))
    if not text:
        return "nothing"
    return text if len(text) <= 80 else text[:77] + "..."
