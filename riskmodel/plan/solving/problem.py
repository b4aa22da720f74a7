"""A budget problem as arrays, its answer, and the plain arithmetic that both are held to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
Ids = IntArray | Iterable[int]
# Whole numbers up to here are exact as floats: ten million million in a currency of cents (IEEE 754).
MOST_CENTS = 2**50


@dataclass(frozen=True)
class Options:
    """What may be done, one row an option; at most one option of an item is taken.

    ``item`` and ``vessel`` (n,) are whole numbers, each item on one vessel and each vessel a row of
    ``haul_out_cost``; ``benefit`` (n,) is the loss averted [any one money]; ``cost`` (n,) is in cents. An option
    with ``haul_out`` (n,) needs its vessel out of the water, which is paid once a vessel, ``haul_out_cost``
    (vessels,) cents. Raises ParameterError for lengths that differ, numbers below 0, cents that are not whole, a
    vessel without a haul-out cost and an item on two vessels.
    """

    item: IntArray
    vessel: IntArray
    benefit: FloatArray
    cost: IntArray
    haul_out: BoolArray
    haul_out_cost: IntArray

    def __post_init__(self) -> None:
        for name in ("item", "vessel", "cost", "haul_out_cost"):
            object.__setattr__(self, name, whole(name, getattr(self, name)))
        object.__setattr__(self, "benefit", not_negative("benefit", self.benefit))
        haul_out = np.asarray(self.haul_out)
        if haul_out.dtype != bool and haul_out.size:
            raise ParameterError(f"haul_out must be true or false, got {haul_out.dtype}")
        object.__setattr__(self, "haul_out", haul_out.astype(bool))
        _check_lengths(self)
        _check_vessels(self)

    def __len__(self) -> int:
        return len(self.item)


@dataclass(frozen=True)
class Solution:
    """A plan and how far from the best it can be.

    ``chosen`` are option ids and ``haul_outs`` vessels, both rising; ``benefit`` is their loss averted and
    ``cost`` their cents, haul-outs included. No plan averts more than ``bound``; ``gap`` is (bound − benefit) as a
    share of the bound, 0 where proved. ``shadow_price`` is the benefit that one cent more would bring. ``proof`` is
    "optimal" where no plan can avert more by over a ten-thousand-millionth (``stages.TOLERANCE``), "gap" where one
    might, and "infeasible" where the options that must be in cost ``shortfall`` cents more than the budget: then
    ``chosen`` holds those options alone and ``feasible`` is False.
    """

    chosen: IntArray
    haul_outs: IntArray
    benefit: float
    cost: int
    bound: float
    gap: float
    shadow_price: float
    proof: Literal["optimal", "gap", "infeasible"]
    feasible: bool = True
    shortfall: int = 0


def plan_cost(options: Options, chosen: Ids) -> int:
    """Cents of the options ``chosen`` (ids), each vessel's haul-out paid once."""
    ids = option_ids("chosen", options, chosen)
    return int(options.cost[ids].sum() + options.haul_out_cost[plan_haul_outs(options, ids)].sum())


def plan_benefit(options: Options, chosen: Ids) -> float:
    """Loss averted by the options ``chosen`` (ids)."""
    return float(options.benefit[option_ids("chosen", options, chosen)].sum())


def plan_haul_outs(options: Options, chosen: Ids) -> IntArray:
    """The vessels, rising, that the options ``chosen`` (ids) need out of the water."""
    ids = option_ids("chosen", options, chosen)
    return np.unique(options.vessel[ids[options.haul_out[ids]]])


def option_ids(name: str, options: Options, ids: Ids) -> IntArray:
    """``ids`` rising; raises ParameterError unless each is an option, once, and no two are of one item."""
    found = np.sort(whole(name, ids if isinstance(ids, np.ndarray) else list(ids)))
    if found.size and found[-1] >= len(options):
        raise ParameterError(f"{name} must be options below {len(options)}, got {found[-1]}")
    items = np.sort(options.item[found])
    twice = items[1:][items[1:] == items[:-1]]
    if twice.size:
        raise ParameterError(f"{name} must hold at most one option an item, got two of item {twice[0]}")
    return found


def whole(name: str, values: npt.ArrayLike) -> IntArray:
    """``values`` (n,) as integers; raises ParameterError unless each is a whole number from 0 to MOST_CENTS."""
    given = np.asarray(values)
    numbers = not_negative(name, given)
    if numbers.ndim != 1:
        raise ParameterError(f"{name} must have one dimension, got {numbers.ndim}")
    bad = (numbers != np.floor(numbers)) | (numbers > MOST_CENTS)
    if bad.any():
        where = int(np.argmax(bad))
        raise ParameterError(
            f"{name} must be a whole number up to {MOST_CENTS}, got {given[where]} at position {where}"
        )
    return given.astype(np.int64)


def _check_lengths(options: Options) -> None:
    for name in ("vessel", "benefit", "cost", "haul_out"):
        shape = getattr(options, name).shape
        if shape != options.item.shape:
            raise ParameterError(f"{name} must have one row an option, {options.item.shape}, got {shape}")


def _check_vessels(options: Options) -> None:
    if not len(options):
        return
    vessels, last = len(options.haul_out_cost), int(options.vessel.max())
    if last >= vessels:
        raise ParameterError(f"vessel must have a haul-out cost: there are {vessels}, got vessel {last}")
    item, vessel = options.item, options.vessel
    if (item[1:] < item[:-1]).any():
        order = np.argsort(item, kind="stable")
        item, vessel = item[order], vessel[order]
    moved = (item[1:] == item[:-1]) & (vessel[1:] != vessel[:-1])
    if moved.any():
        raise ParameterError(f"an item must be on one vessel, got item {item[1:][moved][0]} on two")
    total = float(options.cost.sum(dtype=float) + options.haul_out_cost.sum(dtype=float))
    if total > MOST_CENTS:
        raise ParameterError(f"all costs together must be at most {MOST_CENTS} cents, got {total:.0f}")
