"""The options that can be in a best plan, in order of vessel, item and cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.plan.solving.problem import BoolArray, IntArray, Options

Places = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Side:
    """The options of one kind, afloat or hauled out, in order of item, then cost.

    ``place`` (m,) is each option's place among the candidates, ``starts`` (k,) where each of the ``items`` (k,)
    that have such options begins.
    """

    place: Places
    benefit: FloatArray
    cost: FloatArray
    starts: Places
    items: Places
    segment: Places


@dataclass(frozen=True)
class Candidates:
    """Options worth a thought: ``option`` (m,) ids, with one place more in ``benefit`` and ``cost`` (m + 1,) for
    doing nothing. Items are numbered afresh in order of vessel; ``vessel`` (items,) says whose they are."""

    options: Options
    option: IntArray
    item: Places
    benefit: FloatArray
    cost: IntArray
    vessel: Places
    haul_out_cost: IntArray
    afloat: Side
    hauled: Side

    @property
    def nothing(self) -> int:
        """The place that stands for doing nothing to an item."""
        return len(self.option)


def candidates(options: Options, fixed: IntArray) -> Candidates:
    """What is left to choose once ``fixed`` (ids) are in: their items are settled and their haul-outs paid.

    Options that avert nothing are dropped, and those for which the item has another with no more cost, no more need
    of a haul-out and no less benefit.
    """
    paid = options.haul_out_cost.copy()
    paid[options.vessel[fixed[options.haul_out[fixed]]]] = 0
    open_ = np.flatnonzero((options.benefit > 0) & ~np.isin(options.item, options.item[fixed]))
    # Stable from the last key to the first; a sort of what is in order already costs next to nothing.
    keys = (-options.benefit, options.haul_out, options.cost, options.item)
    order = open_[np.lexsort([key[open_] for key in keys])]
    order = order[np.argsort(options.vessel[order], kind="stable")]
    order = order[~_dominated(options, order)]
    return _gathered(options, order, paid)


def one_vessel_in(given: Candidates, step: int) -> Candidates:
    """The candidates of every ``step``-th vessel."""
    mine = given.vessel[given.item] % step == 0
    return _gathered(given.options, given.option[mine], given.haul_out_cost)


def _gathered(options: Options, order: IntArray, haul_out_cost: IntArray) -> Candidates:
    item = options.item[order]
    new = np.ones(len(order), dtype=bool)
    new[1:] = item[1:] != item[:-1]
    number = np.cumsum(new) - 1
    haul_out, benefit, cost = options.haul_out[order], options.benefit[order], options.cost[order]
    return Candidates(
        options,
        order,
        number,
        np.append(benefit, 0.0),
        np.append(cost, 0),
        options.vessel[order[new]],
        haul_out_cost,
        _side(np.flatnonzero(~haul_out), number, benefit, cost),
        _side(np.flatnonzero(haul_out), number, benefit, cost),
    )


def _side(place: Places, item: Places, benefit: FloatArray, cost: IntArray) -> Side:
    mine = item[place]
    new = np.ones(len(place), dtype=bool)
    new[1:] = mine[1:] != mine[:-1]
    starts = np.flatnonzero(new)
    return Side(place, benefit[place], cost[place].astype(float), starts, mine[starts], np.cumsum(new) - 1)


def _dominated(options: Options, order: IntArray) -> BoolArray:
    """Which options, sorted by item and cost, avert no more than one before them that needs no more."""
    item, haul_out = options.item[order], options.haul_out[order]
    # Ranks of benefit stand above those of all items before, so one running maximum serves every item.
    _, rank = np.unique(options.benefit[order], return_inverse=True)
    new = np.ones(len(order), dtype=bool)
    new[1:] = item[1:] != item[:-1]
    height = np.cumsum(new) * (len(order) + 1) + rank
    afloat = _highest_before(np.where(haul_out, 0, height))
    return np.where(haul_out, _highest_before(height), afloat) >= height


def _highest_before(height: IntArray) -> IntArray:
    before = np.zeros_like(height)
    before[1:] = np.maximum.accumulate(height)[:-1]
    return before
