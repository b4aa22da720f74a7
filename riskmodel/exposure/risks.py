"""A book as the loss arithmetic sees it: independent risks, each with its chance and the outcomes of its one loss."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

# Weights of one risk's outcomes are typed or worked out by people's programs: they add to 1 this closely.
ADDS_UP = 1e-9
# Rows worked through at a time: their arrays then stay in a processor's cache, and no memory is fetched anew for them.
BLOCK = 2**16


@dataclass(frozen=True, eq=False)
class Risks:
    """Chances (or Poisson rates) ``chance`` (n,), outcomes ``loss`` (n, k) [currency], their ``weight`` (n, k).

    ``count`` (n,): how many equal risks a row stands for; None where each row is one.
    """

    chance: FloatArray
    loss: FloatArray
    weight: FloatArray
    count: FloatArray | None = None

    @property
    def single(self) -> bool:
        """Whether every risk has one outcome only."""
        return int(self.loss.shape[1]) == 1

    @property
    def mean_loss(self) -> FloatArray:
        """(n,) mean of the one loss of each risk, given that it comes."""
        return self.loss[:, 0] if self.single else np.einsum("nk,nk->n", self.weight, self.loss)

    @property
    def mean_square(self) -> FloatArray:
        """(n,) mean square of it."""
        first = self.loss[:, 0]
        return first * first if self.single else np.einsum("nk,nk,nk->n", self.weight, self.loss, self.loss)

    @property
    def most(self) -> FloatArray:
        """(n,) largest loss of each risk; 0 where it cannot happen."""
        largest = self.loss[:, 0] if self.single else np.where(self.weight > 0, self.loss, 0.0).max(axis=1)
        return np.where(self.chance > 0, largest, 0.0)

    def times(self, values: FloatArray) -> FloatArray:
        """Values (n,) by row, each as often as its row counts."""
        return values if self.count is None else values * self.count

    def total(self, values: FloatArray) -> float:
        """Sum over risks of values (n,) by row."""
        return float(values.sum() if self.count is None else values @ self.count)

    def take(self, rows: npt.NDArray[np.bool_] | npt.NDArray[np.intp] | slice) -> Risks:
        """Some rows."""
        count = None if self.count is None else self.count[rows]
        return Risks(self.chance[rows], self.loss[rows], self.weight[rows], count)

    def blocks(self) -> Iterator[Risks]:
        """All rows in turn, some at a time."""
        for rows in blocks(len(self.chance)):
            yield self.take(rows)

    def with_chance(self, chance: FloatArray) -> Risks:
        """The same losses at other chances (n,)."""
        return replace(self, chance=chance)


def blocks(rows: int) -> Iterator[slice]:
    """So many rows, some at a time."""
    for start in range(0, rows, BLOCK):
        yield slice(start, min(start + BLOCK, rows))


def checked_risks(
    chance: npt.ArrayLike,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None,
    count: npt.ArrayLike | None = None,
) -> Risks:
    """Risks with chances in [0, 1].

    Raises
    ------
    ParameterError
        For a chance outside [0, 1], a negative loss, weights that do not add to 1, or shapes that do not fit.
    """
    found = checked_rates(chance, loss, weight, count)
    if found.chance.size and found.chance.max() > 1.0:
        place = int(np.argmax(found.chance))
        raise ParameterError(
            f"probability must lie in [0, 1], got {found.chance[place]:g} at position {place}"
        )
    return found


def checked_rates(
    rate: npt.ArrayLike,
    loss: npt.ArrayLike,
    weight: npt.ArrayLike | None,
    count: npt.ArrayLike | None = None,
) -> Risks:
    """The same for yearly rates, of any size from 0. Raises ParameterError."""
    rates = np.atleast_1d(not_negative("probability or rate", rate))
    losses = not_negative("loss", loss)
    shares = None if weight is None else not_negative("weight", weight)
    losses = _rows("loss", losses, len(rates), shares is not None)
    if shares is None:
        shares = np.broadcast_to(1.0, losses.shape)
        if losses.shape[1] != 1:
            raise ParameterError(
                f"loss (n, k) needs weight (n, k), got none for {losses.shape[1]} outcomes a risk"
            )
    else:
        shares = _rows("weight", shares, len(rates), True)
        if shares.shape != losses.shape:
            raise ParameterError(f"weight must have the shape of loss {losses.shape}, got {shares.shape}")
        _add_up(shares)
    return Risks(rates, losses, shares, _counts(count, len(rates)))


def _rows(name: str, values: FloatArray, rows: int, weighted: bool) -> FloatArray:
    """Values as (n, k): a plain list is a column, or the outcomes of the only risk where they have weights."""
    if values.ndim == 0:
        values = values[None]
    if values.ndim == 1 and weighted and rows == 1:
        values = values[None, :]
    table = values[:, None] if values.ndim == 1 else values
    if table.ndim != 2 or len(table) != rows or table.shape[1] == 0:
        raise ParameterError(f"{name} must be (n,) or (n, k) for n = {rows} risks, got shape {values.shape}")
    return table


def _add_up(weight: FloatArray) -> None:
    off = np.abs(weight.sum(axis=1) - 1.0)
    if off.size and off.max() > ADDS_UP:
        place = int(np.argmax(off))
        raise ParameterError(
            f"weight must add to 1 for each risk, got {weight[place].sum():.12g} at row {place}"
        )


def _counts(count: npt.ArrayLike | None, rows: int) -> FloatArray | None:
    if count is None:
        return None
    counts = np.atleast_1d(not_negative("count", count))
    if counts.shape != (rows,) or (counts != np.rint(counts)).any():
        raise ParameterError(f"count must be {rows} whole numbers, got shape {counts.shape}")
    return counts
