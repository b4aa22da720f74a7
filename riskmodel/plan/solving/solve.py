"""The best plan for a budget, and the proof of how good it is."""

from __future__ import annotations

import numpy as np

from riskmodel.errors import ParameterError, RiskModelError
from riskmodel.plan.solving.candidates import candidates
from riskmodel.plan.solving.problem import (
    Ids,
    IntArray,
    Options,
    Solution,
    option_ids,
    plan_benefit,
    plan_cost,
    plan_haul_outs,
    whole,
)
from riskmodel.plan.solving.stages import ROUNDING, Known, best, relax, soon, tolerance_of

# How far, as a share, what a search claims may be from the plain sum: the rounding of a million sums.
CLAIM = 1e-9


def solve_plan(options: Options, budget_cents: int, *, fixed: Ids = (), at_least: Ids = ()) -> Solution:
    """The options that avert most for at most ``budget_cents``, haul-outs shared by all done on a vessel.

    ``fixed`` (ids) are in whatever they are worth, and settle their items; where they cost more than the budget, the
    answer says by how much and holds them alone. ``at_least`` (ids) is a plan known to fit, such as that of a smaller
    budget: the answer never averts less. Raises ParameterError where it does not fit or leaves out a fixed option.

    A price on money splits the problem by vessel and bounds what any plan averts (Lagrangian relaxation, Fisher
    1981); what loses more at that price than the best plan known is ruled out, and the rest is gone through. Where
    that has no end within its limits, the gap left is stated.
    """
    budget = int(whole("budget_cents", [budget_cents])[0])
    must = option_ids("fixed", options, fixed)
    left = budget - plan_cost(options, must)
    if left < 0:
        return _infeasible(options, must, -left)
    carried = _carried(options, option_ids("at_least", options, at_least), must, budget)
    relaxed, known = relax(candidates(options, must), left)
    base = plan_benefit(options, must)
    known = soon(relaxed, known)
    loses = base + relaxed.bound - plan_benefit(options, carried)
    if loses < known.loses:
        known = Known(np.setdiff1d(carried, must), max(loses, 0.0), known.least)
    if known.loses > tolerance_of(relaxed, known):
        known = best(relaxed, known)
    # Last, by the plain sums: a plan carried forward is not given up for a rounding.
    chosen = max(carried, np.union1d(must, known.chosen), key=lambda plan: plan_benefit(options, plan))
    _check(options, chosen, budget, (base + relaxed.bound, known.loses))
    benefit = plan_benefit(options, chosen)
    bound = max(base + relaxed.bound - known.least, benefit)
    # The tolerance of the search, and as much again for the rounding of sums.
    proven = bound - benefit <= 2 * tolerance_of(relaxed, known) + ROUNDING * base
    return Solution(
        chosen=chosen,
        haul_outs=plan_haul_outs(options, chosen),
        benefit=benefit,
        cost=plan_cost(options, chosen),
        bound=bound,
        gap=0.0 if proven else (bound - benefit) / bound,
        shadow_price=relaxed.answer.price,
        proof="optimal" if proven else "gap",
    )


def _check(options: Options, chosen: IntArray, budget: int, claim: tuple[float, float]) -> None:
    """Hold a plan to the plain arithmetic of its options; the claim is a bound and what the plan loses against it."""
    cost, benefit = plan_cost(options, chosen), plan_benefit(options, chosen)
    if cost > budget or abs(claim[0] - claim[1] - benefit) > CLAIM * claim[0]:
        raise RiskModelError(
            f"a fault in the budget solver: a plan of {cost} cents averting {benefit} was found "
            f"for {budget} cents, and {claim[0] - claim[1]} was claimed"
        )


def _infeasible(options: Options, must: IntArray, shortfall: int) -> Solution:
    benefit = plan_benefit(options, must)
    return Solution(
        chosen=must,
        haul_outs=plan_haul_outs(options, must),
        benefit=benefit,
        cost=plan_cost(options, must),
        bound=benefit,
        gap=0.0,
        shadow_price=0.0,
        proof="infeasible",
        feasible=False,
        shortfall=shortfall,
    )


def _carried(options: Options, plan: IntArray, must: IntArray, budget: int) -> IntArray:
    """The plan to carry forward; the fixed options alone where there is none."""
    if not len(plan):
        return must
    cost = plan_cost(options, plan)
    if cost > budget:
        raise ParameterError(f"at_least must fit the budget of {budget} cents, got a plan of {cost}")
    if not np.isin(must, plan).all():
        raise ParameterError(f"at_least must hold the fixed options, got none of {np.setdiff1d(must, plan)}")
    return plan
