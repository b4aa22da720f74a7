"""What a task and an end state cost, before insurance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.lognormal import limited_mean, median_for_share
from riskmodel.trade.records import Propulsion, Task
from riskmodel.trade.severity import EndState


def task_cost(task: Task, length_m: float) -> tuple[float, float]:
    """Cost of a task [its currency and price year], low and high, without the haul-out.

    Linear in the boat's length [m] where the task scales with it.

    Raises ParameterError for a length not above 0.
    """
    _refuse("length_m", length_m)
    share = length_m / task.reference_length_m if task.scales_with == "length" else 1.0
    return task.cost_low * share, task.cost_high * share


def end_state_loss(end_state: EndState, value: float, length_m: float) -> tuple[float, float]:
    """Expected loss of an end state [currency], low and high: doubt about the mean, not the spread of losses.

    The repair bill, never more than the boat is worth, plus salvage and clean-up by the boat's length.

    Raises ParameterError for a value or length [m] not above 0.
    """
    _refuse("value", value)
    _refuse("length_m", length_m)
    boat = np.array([value]), np.array([length_m])
    low, high = (float(mean_loss(bill, *boat)[0]) for bill in bills(end_state))
    return low, high


@dataclass(frozen=True)
class Bill:
    """What an end state costs: the median repair bill as a share of value and per metre, its log-sd, and per metre
    what salvage and clean-up cost on top."""

    value_share: float
    per_metre: float
    log_sd: float
    cleared_per_metre: float


@lru_cache(maxsize=64)
def bills(end_state: EndState) -> tuple[Bill, Bill]:
    """The low and the high end of what an end state costs.

    The trade's share of value is of what is lost, so it is turned into the median bill whose mean up to the value it
    is. Repair by length is a mean bill, added before the boat's value cuts it off.
    """
    log_sd = end_state.repair_log_sd
    shares = median_for_share([end_state.value_share_low, end_state.value_share_high], log_sd)
    to_median = math.exp(-0.5 * log_sd**2)
    low, high = end_state.repair_per_metre_low * to_median, end_state.repair_per_metre_high * to_median
    return (
        Bill(float(shares[0]), low, log_sd, end_state.per_metre_low),
        Bill(float(shares[1]), high, log_sd, end_state.per_metre_high),
    )


def mean_loss(bill: Bill, value: FloatArray, length_m: FloatArray) -> FloatArray:
    """Mean loss on boats (n,) of this value [currency] and length [m]: repair up to the value, salvage and clean-up."""
    median = bill.value_share * value + bill.per_metre * length_m
    found: FloatArray = limited_mean(median, bill.log_sd, value) + bill.cleared_per_metre * length_m
    return found


def guessed_value(propulsion: Propulsion, length_m: float, age_years: float) -> float:
    """A first guess at a boat's worth [trade currency] where nobody has said: our judgement, two figures.

    The value new goes with the cube of the length [m], falls by a share each year of age, and keeps a floor.

    Raises ParameterError for a length not above 0.
    """
    _refuse("length_m", length_m)
    kept = max(propulsion.value_kept_each_year ** max(age_years, 0.0), propulsion.least_value_share)
    worth = propulsion.new_value_per_cubic_metre * length_m**3 * kept
    return float(f"{worth:.2g}")


def _refuse(name: str, number: float) -> None:
    if not 0.0 < number < math.inf:
        raise ParameterError(f"{name} must be a number above 0, got {number}")
