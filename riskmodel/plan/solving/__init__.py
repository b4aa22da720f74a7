"""The best choice for a sum of money, with proof: prices, bounds and an exact search over what is left."""

from riskmodel.plan.solving.curve import Curve, budget_curve
from riskmodel.plan.solving.problem import Options, Solution
from riskmodel.plan.solving.solve import solve_plan
from riskmodel.plan.solving.unfunded import next_unfunded

__all__ = ["Curve", "Options", "Solution", "budget_curve", "next_unfunded", "solve_plan"]
