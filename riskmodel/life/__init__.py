"""Lives: rows from records, priors from trade intervals, posteriors, chances of failing."""

from riskmodel.life.durations import rows_from_durations
from riskmodel.life.life import AgeQuantile, Life, fit_life
from riskmodel.life.prior import WeibullPrior
from riskmodel.life.rows import LifeRows

__all__ = ["AgeQuantile", "Life", "LifeRows", "WeibullPrior", "fit_life", "rows_from_durations"]
