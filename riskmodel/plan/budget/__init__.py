"""What a fleet's money does: options of every part, safety floors first, dates, and the plan recomputed in full."""

from riskmodel.plan.budget.options import plan_options
from riskmodel.plan.budget.plan import Plan, best_plan

__all__ = ["Plan", "best_plan", "plan_options"]
