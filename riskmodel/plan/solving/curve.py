"""The curve of benefit against budget, from one sweep of the price on money."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.plan.solving.candidates import Candidates, candidates
from riskmodel.plan.solving.problem import Ids, IntArray, Options, option_ids, plan_benefit, plan_cost, whole
from riskmodel.plan.solving.stages import better, relax, soon

# A gap that would show in a figure (judgement).
WIDE = 1e-3


@dataclass(frozen=True)
class Curve:
    """What budgets avert, (points,) each, in rising order of ``budget`` [cents].

    ``benefit`` is that of a plan that fits, and never falls; no plan averts more than ``bound``, which is concave.
    ``shadow_price`` is the benefit that one cent more would bring.
    """

    budget: IntArray
    benefit: FloatArray
    bound: FloatArray
    shadow_price: FloatArray


class Point(NamedTuple):
    """One budget: the benefit of a plan, and the price with the value (benefit − price × cost) of its answer."""

    benefit: float
    price: float
    value: float


def budget_curve(options: Options, budgets: npt.ArrayLike, *, fixed: Ids = ()) -> Curve:
    """Good plans and bounds for every one of ``budgets`` (points,) [cents], with ``fixed`` options (ids) in.

    The price falls from one budget to the next, so each starts from the last. The plans are those found soon, not
    the best: ``solve_plan`` closes the gap of one budget. Raises ParameterError for no budgets at all and for a
    budget below the cost of the fixed options.
    """
    budget = np.sort(whole("budgets", budgets))
    must = option_ids("fixed", options, fixed)
    needed, base = plan_cost(options, must), plan_benefit(options, must)
    if not len(budget) or budget[0] < needed:
        raise ParameterError(
            f"budgets must be at least the {needed} cents of what is fixed, got {budget[:1]}"
        )
    left = budget - needed
    points = _swept(candidates(options, must), left)
    benefit, price, value = (np.array(column) for column in zip(*points, strict=True))
    # Every price bounds every budget; the least of straight lines is concave.
    bound = np.min(value[:, None] + price[:, None] * left, axis=0)
    # A smaller budget's plan fits a larger one too.
    benefit = np.minimum(np.maximum.accumulate(benefit), bound)
    return Curve(budget, base + benefit, base + bound, price)


def _swept(given: Candidates, lefts: IntArray) -> list[Point]:
    points: list[Point] = []
    near = 0.0
    for left in lefts.tolist():
        relaxed, known = relax(given, left, near)
        near, value = relaxed.answer.price, relaxed.answer.value
        known = soon(relaxed, known)
        if known.loses > WIDE * relaxed.bound:
            known = better(relaxed, known)
        points.append(Point(plan_benefit(given.options, known.chosen), near, value))
    return points
