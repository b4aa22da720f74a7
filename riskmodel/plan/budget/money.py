"""What pieces of work cost together: whole cents, each boat's lift paid once."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

IntArray = npt.NDArray[np.int64]
# More than any fleet costs, in any currency; whole cents of it, and of many times it, are still exact (judgement).
LARGEST = 1e12


def checked_amount(amount: float) -> float:
    """An amount of money [currency]; raises ParameterError below 0, above LARGEST, and for what is no number."""
    not_negative("amount", amount)
    if amount > LARGEST:
        raise ParameterError(f"amount must be at most {LARGEST:,.0f}, got {amount:g}")
    return float(amount)


def cents(amounts: npt.ArrayLike) -> IntArray:
    """Money in whole cents."""
    whole: IntArray = np.rint(np.asarray(amounts, dtype=float) * 100).astype(np.int64)
    return whole


class Till:
    """Keeps which lifts are paid for: what the next piece of work costs depends on them.

    ``options``: columns ``cost`` [currency], ``haul_out``, ``vessel``; ``lift`` (vessels,) [currency].
    """

    def __init__(self, options: pd.DataFrame, lift: FloatArray) -> None:
        self.cost = cents(options["cost"])
        self.haul_out = options["haul_out"].to_numpy(dtype=bool)
        self.vessel = options["vessel"].to_numpy()
        self.lift = cents(lift)
        self.paid: set[int] = set()

    def together(self, rows: Iterable[int]) -> int:
        """Cents for these options, lifts still to be paid among them."""
        rows = list(rows)
        boats = {int(self.vessel[row]) for row in rows if self.haul_out[row]} - self.paid
        return int(sum(int(self.cost[row]) for row in rows) + sum(int(self.lift[boat]) for boat in boats))

    def take(self, rows: Iterable[int]) -> None:
        """Pays for these options' lifts."""
        self.paid |= {int(self.vessel[row]) for row in rows if self.haul_out[row]}
