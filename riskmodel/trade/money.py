"""What a task and an end state cost, before insurance."""

from __future__ import annotations

import math

from riskmodel.errors import ParameterError
from riskmodel.trade.records import EndState, Propulsion, Task


def task_cost(task: Task, length_m: float) -> tuple[float, float]:
    """Cost of a task [its currency and price year], low and high, without the haul-out.

    Linear in the boat's length [m] where the task scales with it.

    Raises ParameterError for a length not above 0.
    """
    _refuse("length_m", length_m)
    share = length_m / task.reference_length_m if task.scales_with == "length" else 1.0
    return task.cost_low * share, task.cost_high * share


def end_state_loss(end_state: EndState, value: float, length_m: float) -> tuple[float, float]:
    """Expected loss of an end state [currency], low and high: a share of the value plus an amount per metre.

    Raises ParameterError for a value or length [m] not above 0.
    """
    _refuse("value", value)
    _refuse("length_m", length_m)
    return (
        end_state.value_share_low * value + end_state.per_metre_low * length_m,
        end_state.value_share_high * value + end_state.per_metre_high * length_m,
    )


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
