"""The money lattice a year's total lives on, and losses placed on it with their mean kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.exposure.risks import Risks
from riskmodel.exposure.window import bands_of, common_unit, limits

IntArray = npt.NDArray[np.int64]
# Limits of a year's total [currency], given over how much money losses are split on the lattice.
Limits = Callable[[float], tuple[float, float]]
# More points than this take seconds and half a gigabyte.
MOST_POINTS = 2**22
# Points where the losses call for no step of their own: a step is then below a thousandth of the total's deviation
# unless one loss is all there is.
USUAL_POINTS = 2**18
# Books of outcomes, each of which is worked out at each frequency alive, take no more points than this work allows:
# outcomes times frequencies, of which a second sees a few tens of millions.
EXACT_WORK, USUAL_WORK = 2**29, 2**26
FEWEST_POINTS, MOST_OUTCOMES = 2**13, 40
# Where so many losses come in a year all but the lowest frequencies die, however many points there are.
BUSY = 100.0
# A loss this share of a step away from a point stands on it: what is left of the last digits.
ON_POINT = 1e-8
# Between limits nothing is exact to the last, and the losses' own unit is worth no more points than these.
UNIT_POINTS = 2 * USUAL_POINTS


@dataclass(frozen=True)
class Lattice:
    """Totals (first + 0 … points - 1) x step [currency]; ``points`` is a power of two.

    ``whole``: no total can lie outside; elsewhere the chance is below ``window.OUTSIDE`` on either side.
    """

    step: float
    first: int
    points: int
    whole: bool

    @property
    def losses(self) -> FloatArray:
        """(points,) the totals [currency]."""
        found: FloatArray = (self.first + np.arange(self.points, dtype=float)) * self.step
        return found


@dataclass(frozen=True, eq=False)
class Placed:
    """Losses on a lattice: points ``index`` and the ``share`` of each that stands one point higher, shape of losses.

    Linear splitting: the mean of every loss is kept, its variance grows by share (1 - share) step².
    """

    index: IntArray
    share: FloatArray
    exact: bool


def choose_lattice(risks: Risks, step: float | None, within: Limits | None = None) -> Lattice:
    """The lattice for a book: the whole support where it fits, else the limits it keeps to at every node.

    ``step`` [currency]: None takes the losses' common unit if they have one that fits, else a fine even one.
    ``within``: the limits of the total, given how far losses are split; those of ``risks`` when left out.

    Raises
    ------
    ParameterError
        For a step not above 0, or so small that the lattice would need more than ``MOST_POINTS`` points.
    """
    _check_step(step)
    top = sum(some.total(some.most) for some in risks.blocks())
    if top == 0:
        return Lattice(step or 1.0, 0, 1, True)
    unit = step or common_unit(risks.loss.ravel())
    room = MOST_POINTS if step is not None else affordable(risks, EXACT_WORK, MOST_POINTS)
    if unit and top < room * unit and _highest(risks, unit) < room:
        return _whole_support(risks, unit)
    within = within or limits_of(risks)
    room = affordable(risks, USUAL_WORK, UNIT_POINTS)
    return _fitted(within, step, (unit, room)) or _usual(risks, top, within)


def limited_lattice(risks: Risks, step: float | None, within: Limits) -> Lattice:
    """The lattice between limits that are known, whatever the support and the work. Raises as ``choose_lattice``."""
    _check_step(step)
    low, high = within(0.0)
    if high == 0:
        return Lattice(step or 1.0, 0, 1, True)
    fine = 1.02 * (high - low) / USUAL_POINTS
    unit = step or common_unit(risks.loss.ravel())
    return _fitted(within, step, (unit, UNIT_POINTS)) or _between(within(fine), fine)


def affordable(risks: Risks, work: int, most: int) -> int:
    """Points that this much work allows: ``most`` for single outcomes and busy books, else as outcomes permit."""
    rows, outcomes = risks.loss.shape
    # Of many outcomes one transform of the lattice takes the place (kinds.loss_transforms).
    outcomes = min(outcomes, MOST_OUTCOMES)
    if outcomes == 1 or risks.total(risks.chance) >= BUSY:
        return most
    return min(max(_power_of_two(2 * work // (rows * outcomes) + 1) // 2, FEWEST_POINTS), most)


def limits_of(risks: Risks) -> Limits:
    """Limits of a book at its own chances."""
    bands = bands_of(risks)
    return limits_at(bands.loss, bands.number(risks.times(risks.chance))[None, :])


def limits_at(loss: FloatArray, number: FloatArray) -> Limits:
    """Limits that hold at every one of the nodes at which ``number`` (z, b) losses of about ``loss`` (b,) come."""

    def within(spread: float) -> tuple[float, float]:
        low, high = limits(loss, number, spread)
        return float(low.min()), float(high.max())

    return within


def place(losses: FloatArray, step: float) -> Placed:
    """Losses of any shape on the lattice's points, split between two neighbours where they lie between."""
    ratio = losses / step
    lower = np.floor(ratio + ON_POINT)
    share = ratio - lower
    index = lower.astype(np.int64)
    if share.size == 0 or share.max() <= ON_POINT:
        return Placed(index, np.broadcast_to(0.0, losses.shape), True)
    share *= share > ON_POINT
    return Placed(index, share, False)


def _check_step(step: float | None) -> None:
    if step is not None and not 0 < step < np.inf:
        raise ParameterError(f"step must be above 0, got {step}")


def _fitted(within: Limits, step: float | None, own: tuple[float, int]) -> Lattice | None:
    """A lattice of the losses' ``own`` unit between the limits, if that has no more points than go with it."""
    unit, room = own
    if not unit:
        return None
    found = _between(within(unit), unit)
    if found.points <= (MOST_POINTS if step is not None else room):
        return found
    if step is not None:
        raise ParameterError(f"step {step:g} needs {found.points:,} points, of at most {MOST_POINTS:,}")
    return None


def _usual(risks: Risks, top: float, within: Limits) -> Lattice:
    """A lattice of the usual number of points, for losses that call for no step of their own."""
    low, high = within(0.0)
    points = affordable(risks, USUAL_WORK, USUAL_POINTS)
    if high >= top:
        step = top / (points // 2)
        if _highest(risks, step) < MOST_POINTS:
            return _whole_support(risks, step)
    # A little room, for splitting widens the limits.
    step = 1.02 * (min(high, top) - low) / points
    return _between(within(step), step)


def _whole_support(risks: Risks, step: float) -> Lattice:
    return Lattice(step, 0, _power_of_two(_highest(risks, step) + 1), True)


def _highest(risks: Risks, step: float) -> int:
    """The highest point a total can reach once losses are split."""
    return int(sum(some.total(np.ceil(some.most / step - ON_POINT)) for some in risks.blocks()))


def _between(span: tuple[float, float], step: float) -> Lattice:
    first = int(np.floor(span[0] / step))
    return Lattice(step, first, _power_of_two(int(np.ceil(span[1] / step)) + 1 - first), False)


def _power_of_two(points: int) -> int:
    return 1 << max(points - 1, 0).bit_length()
