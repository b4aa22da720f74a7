"""Best ages to renew at and best intervals to look at, against the trade's."""

from riskmodel.plan.intervals.replacement import ReplacementAge, best_replacement_age
from riskmodel.plan.intervals.table import intervals_table

__all__ = ["ReplacementAge", "best_replacement_age", "intervals_table"]
