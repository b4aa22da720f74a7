"""Chances of every risk at each node of what the risks share: class parameters, a season, a lot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.exposure.risks import ADDS_UP

# Newton's steps from below: each doubles the digits once it is near.
MOST_STEPS = 60


@dataclass(frozen=True, eq=False)
class NodeChances:
    """``chance`` (c, z): chance of each cell of equal risks at each node; ``weight`` (z,) of the nodes, adding to 1.

    ``cell`` (n,): which cell each risk belongs to; None where risk i is cell i.
    """

    chance: FloatArray
    weight: FloatArray
    cell: npt.NDArray[np.intp] | None = None

    def at(self, node: int) -> FloatArray:
        """(n,) the risks' chances at one node."""
        column = np.ascontiguousarray(self.chance[:, node])
        return column if self.cell is None else column[self.cell]

    def cells_of(self, risks: int) -> npt.NDArray[np.intp]:
        """(n,) the cell of each risk."""
        return np.arange(risks) if self.cell is None else self.cell

    @property
    def average(self) -> FloatArray:
        """(n,) the risks' chances averaged over the nodes."""
        cells = self.chance @ self.weight
        return cells if self.cell is None else cells[self.cell]


def node_chances(
    chance: npt.ArrayLike, weight: npt.ArrayLike, cell: npt.ArrayLike | None = None
) -> NodeChances:
    """Checked chances by node.

    Raises
    ------
    ParameterError
        For chances outside [0, 1], weights that do not add to 1, or cells that are not rows of ``chance``.
    """
    chances, weights = not_negative("chance", chance), node_weights(weight)
    if chances.ndim != 2 or chances.shape[1] != len(weights) or chances.max(initial=0.0) > 1:
        raise ParameterError(
            f"chance must be (cells, {len(weights)} nodes) in [0, 1], got shape {chances.shape} "
            f"and up to {chances.max(initial=0.0):g}"
        )
    if cell is None:
        return NodeChances(chances, weights)
    cells = np.asarray(cell)
    if not np.issubdtype(cells.dtype, np.integer) or (
        cells.size and not 0 <= cells.min() <= cells.max() < len(chances)
    ):
        raise ParameterError(
            f"cell must be whole numbers from 0 to {len(chances) - 1}, got {cells.dtype} values"
        )
    return NodeChances(chances, weights, cells.astype(np.intp))


def node_weights(weight: npt.ArrayLike) -> FloatArray:
    """(z,) weights of nodes, adding to exactly 1. Raises ParameterError where they do not to nine digits."""
    weights = np.atleast_1d(not_negative("node weight", weight))
    if weights.ndim != 1 or abs(weights.sum() - 1.0) > ADDS_UP:
        raise ParameterError(f"node weights (z,) must add to 1, got {weights.sum():.12g}")
    exact: FloatArray = weights / weights.sum()
    return exact


def node_exponents(chance: npt.ArrayLike, weight: npt.ArrayLike, target: npt.ArrayLike) -> FloatArray:
    """(c,) the exponent of each cell that solves sum over z of w_z [1 - (1 - p_z)**exponent] = target.

    ``chance`` (c, z), ``weight`` (z,), ``target`` (c,): an item whose chance is more or less than its class's
    at each node then has, averaged over the nodes, the chance that its own quadrature gave. The hazard at every
    node is multiplied by one number, and no chance leaves [0, 1]. Newton from below, where a concave function
    is never overshot.

    Raises
    ------
    ParameterError
        For a target outside [0, 1) or one that no exponent reaches, because too few nodes have any chance.
    """
    nodes, wanted = node_chances(chance, weight), np.atleast_1d(not_negative("target", target))
    with np.errstate(divide="ignore"):
        hazard = -np.log1p(-nodes.chance)
    reached = (nodes.chance > 0) @ nodes.weight
    bad = wanted >= reached
    if (bad & (wanted > 0)).any():
        place = int(np.argmax(bad & (wanted > 0)))
        raise ParameterError(
            f"target must be below {reached[place]:g}, got {wanted[place]:g} at cell {place}"
        )
    sure = np.isinf(hazard)
    finite = np.where(sure, 0.0, hazard)
    left = wanted - sure @ nodes.weight
    exponent = np.zeros(len(wanted))
    open_ = left > 0
    for _ in range(MOST_STEPS):
        hazards = exponent[:, None] * finite
        short = left + np.expm1(-hazards) @ nodes.weight
        slope = (finite * np.exp(-hazards)) @ nodes.weight
        step = np.where(open_, short / np.where(open_, slope, 1.0), 0.0)
        exponent = exponent + step
        if (np.abs(short) <= 1e-14 * wanted)[open_].all():
            break
    return exponent


def scaled_chances(chance: FloatArray, exponent: FloatArray) -> FloatArray:
    """1 - (1 - p)**exponent, shapes broadcast: the chance where the hazard is ``exponent`` times as high."""
    with np.errstate(divide="ignore", invalid="ignore"):
        hazard = -np.log1p(-np.asarray(chance, dtype=float)) * exponent
    found: FloatArray = -np.expm1(-np.where(np.isnan(hazard), 0.0, hazard))
    return found
