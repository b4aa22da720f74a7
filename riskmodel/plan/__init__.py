"""Plans: what to do to which boat, when, and with what money."""

from riskmodel.plan.budget import Plan, best_plan, plan_options
from riskmodel.plan.intervals import ReplacementAge, best_replacement_age, intervals_table

__all__ = ["Plan", "ReplacementAge", "best_plan", "best_replacement_age", "intervals_table", "plan_options"]
