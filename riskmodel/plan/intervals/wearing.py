"""How one class wears in one place: nodes of its life in calendar years, running hours beside them if they count."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray, fraction
from riskmodel.errors import ParameterError
from riskmodel.life import Life
from riskmodel.life.life import fewer_nodes
from riskmodel.life.weibull import cumulative_hazard
from riskmodel.risk.chances import Parameters

# Nodes lighter than this share of the heaviest move no cost by a thousandth of itself.
LIGHTEST = 1e-4


@dataclass(frozen=True)
class Wear:
    """Weighted nodes (m,) of the life of a part that is new today.

    ``shape``, ``log_scale`` in years; ``weight``, adding to 1; ``by_hours``: shape and log scale, in years at the hours
    a year that the part runs, of wear by running beside the calendar's; None: there is none.
    """

    shape: FloatArray
    log_scale: FloatArray
    weight: FloatArray
    by_hours: tuple[FloatArray, FloatArray] | None = None

    def survival(self, ages: FloatArray) -> FloatArray:
        """(m, k) chance of being whole at each age (k,) in years, node by node."""
        with np.errstate(divide="ignore"):
            log_age = np.log(ages)
        hazard = cumulative_hazard(log_age, self.shape[:, None], self.log_scale[:, None])
        if self.by_hours is not None:
            shape, log_scale = self.by_hours
            hazard = hazard + cumulative_hazard(log_age, shape[:, None], log_scale[:, None])
        whole: FloatArray = np.exp(-hazard)
        return whole


def wear_of_life(life: Life, pace: float = 1.0) -> Wear:
    """Wear of a life by the calendar where parts age ``pace`` times as fast as in its reference surroundings.

    Raises ParameterError for a pace not above 0.
    """
    nodes = fewer_nodes(life).nodes
    some = nodes.weight >= LIGHTEST * nodes.weight.max()
    weight = nodes.weight[some]
    log_scale = nodes.log_scale[some] - np.log(_checked("pace", pace))
    return Wear(np.exp(nodes.log_shape[some]), log_scale, weight / weight.sum())


def wear_by_both(parameters: Parameters, pace: float, hours_per_year: float) -> Wear:
    """Wear of draws of a class that wears by the calendar and by running hours.

    Raises ParameterError for a pace or hours a year not above 0.
    """
    log_scale = parameters.log_scale - np.log(_checked("pace", pace))
    wear = Wear(parameters.shape, log_scale, parameters.weight)
    if parameters.by_hours is None:
        return wear
    shape, log_hours = parameters.by_hours
    rate = _checked("hours_per_year", hours_per_year)
    return Wear(wear.shape, wear.log_scale, wear.weight, (shape, log_hours - np.log(rate)))


def age_when_gone(wear: Wear, share: float) -> float:
    """The age by which this share of new parts has let go, averaged over the nodes, in years; at the grid's points."""
    gone = fraction("share", share)
    ends = wear.log_scale + np.log(-np.log1p(-gone)) / wear.shape
    ages = np.exp(np.linspace(ends.min(), ends.max(), 200))
    whole = wear.weight @ wear.survival(ages)
    return float(ages[min(int(np.searchsorted(-whole, -(1.0 - gone))), len(ages) - 1)])


def _checked(name: str, value: float) -> float:
    if not 0.0 < value < np.inf:
        raise ParameterError(f"{name} must be a number above 0, got {value:g}")
    return value
