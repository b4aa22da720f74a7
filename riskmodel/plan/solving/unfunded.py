"""What a plan leaves out and would take next, were there more money."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.plan.solving.problem import BoolArray, IntArray, Options, Solution

# What costs nothing is set against the smallest sum there is.
CENT = 1.0


@dataclass(frozen=True)
class Unfunded:
    """Options outside a plan, best first: ``option`` (k,) ids, at most one an item.

    ``worth`` (k,) is the benefit a cent that each would add: over what the plan does to the item, at what it
    costs more. An option that needs a haul-out not in the plan is judged with all that would then pay on the vessel,
    the haul-out included; ``with_haul_out`` (k,) marks it.
    """

    option: IntArray
    worth: FloatArray
    with_haul_out: BoolArray


def next_unfunded(options: Options, solution: Solution, count: int) -> Unfunded:
    """The ``count`` options outside the ``solution`` that avert most a cent."""
    _, item = np.unique(options.item, return_inverse=True)
    benefit, cost = np.zeros((2, int(item.max(initial=-1)) + 1))
    benefit[item[solution.chosen]] = options.benefit[solution.chosen]
    cost[item[solution.chosen]] = options.cost[solution.chosen]
    more, dearer = options.benefit - benefit[item], options.cost - cost[item]
    ashore = np.zeros(len(options.haul_out_cost), dtype=bool)
    ashore[solution.haul_outs] = True
    hauling = options.haul_out & ~ashore[options.vessel]
    alone = more / np.maximum(dearer + np.where(hauling, options.haul_out_cost[options.vessel], 0.0), CENT)
    net = np.where(hauling, more - solution.shadow_price * dearer, 0.0)
    worth = _with_others(options, _best_of_items(item, net), more, dearer, alone)
    first = _best_of_items(item, np.where(more > 0, worth, 0.0))
    first = first[np.argsort(-worth[first], kind="stable")][:count]
    return Unfunded(first, worth[first], hauling[first])


def _with_others(
    options: Options, together: IntArray, more: FloatArray, dearer: FloatArray, alone: FloatArray
) -> FloatArray:
    """The worth of each option, for those hauled out ``together`` (ids) that of all of them on the vessel."""
    vessel, vessels = options.vessel[together], len(options.haul_out_cost)
    averts = np.bincount(vessel, more[together], minlength=vessels)
    costs = np.bincount(vessel, dearer[together], minlength=vessels) + options.haul_out_cost
    worth = alone.copy()
    worth[together] = averts[vessel] / np.maximum(costs[vessel], CENT)
    return worth


def _best_of_items(item: IntArray, score: FloatArray) -> IntArray:
    """The option of the highest score of each item, where that is above 0."""
    order = np.lexsort((-score, item))
    new = np.ones(len(order), dtype=bool)
    new[1:] = item[order[1:]] != item[order[:-1]]
    best = order[new]
    return best[score[best] > 0]
