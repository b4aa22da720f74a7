"""Knows the values of boats that nobody has said: those that `riskmodel begin` guessed and that still stand.

Begin writes its guess into two columns, ``value`` and ``guessed_value``. As long as both are the same, the value is
a guess; once the keeper puts in their own, it is theirs, and no mark has to be taken off.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from pandas import DataFrame

from riskmodel.fleet.checks import CheckedTable

GUESSED = "guessed by `riskmodel begin` from kind, length and age: our judgement"
_NAMED = 3


def value_is_guess(vessels: DataFrame) -> NDArray[np.bool_]:
    """Whether each boat's value (n,) is still the one that was guessed."""
    same: NDArray[np.bool_] = (vessels["value"] == vessels["guessed_value"]).to_numpy(dtype=bool)
    return same


def guess_notes(vessels: CheckedTable) -> tuple[str, ...]:
    """A note that names the boats with a guessed value, and says what to do about it."""
    guessed = vessels.frame[value_is_guess(vessels.frame)]
    if guessed.empty:
        return ()
    ids = ", ".join(guessed["vessel_id"].iloc[:_NAMED]) + (", ..." if len(guessed) > _NAMED else "")
    whose = "the value of 1 boat is" if len(guessed) == 1 else f"the values of {len(guessed)} boats are"
    return (
        f"{vessels.file}: {whose} a rough guess by `riskmodel begin` ({ids}): put your own in column value.",
    )
