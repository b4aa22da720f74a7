"""Age replacement: when to renew a part that wears out, so that renewals and failures together cost least.

A part is renewed at age T for ``planned_cost``, or when it fails before for ``failure_cost``. Over the years that costs

    C(T) = [c_p S(T) + c_f F(T)] / integral_0^T S(t) dt

(Barlow and Hunter 1960). For a Weibull life, x = (T / scale)**shape and G(x) = integral_0^T S dt / scale
= gamma(1 / shape, x) / shape, the least stands where

    shape x**(1 - 1/shape) G(x) - (1 - exp(-x)) = c_p / (c_f - c_p),

whose left side rises with x from 0 when the hazard rises (shape > 1); C is then (c_f - c_p) times the hazard at T.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

# Past this cumulative hazard survival is 0 to the last bit: an age nobody's part lives to see is no age.
LARGEST_HAZARD = 700.0
# Below this one the age is 0 in effect; between the two the log of x is halved until it is exact.
LEAST_LOG_HAZARD = -700.0
HALVINGS = 64


@dataclass(frozen=True)
class ReplacementAge:
    """The age at which to renew, and what that costs per unit of time.

    ``age``: in the unit of the scale; infinite where no finite age pays. ``cost_rate``: money per that unit, at the age
    or, where there is none, of renewing only what fails. Floats for floats, arrays of the broadcast shape else.
    """

    age: float | FloatArray
    cost_rate: float | FloatArray


def best_replacement_age(
    shape: npt.ArrayLike, scale: npt.ArrayLike, planned_cost: npt.ArrayLike, failure_cost: npt.ArrayLike
) -> ReplacementAge:
    """The age at which renewing costs least over the years.

    Parameters
    ----------
    shape, scale : array-like
        Of the Weibull life, above 0; the scale in any unit of time.
    planned_cost, failure_cost : array-like
        Of a renewal at that age, and of a failure before it with its renewal, 0 or more in one currency.

    No finite age pays where the hazard does not rise (shape <= 1) or failing costs no more than renewing.

    Raises
    ------
    ParameterError
        For a shape or scale not above 0, or a cost below 0.
    """
    life, money = _checked_life(shape, scale), _checked_costs(planned_cost, failure_cost)
    arrays = np.broadcast_arrays(*life, *money)
    beta, eta, planned, failure = (np.ravel(each) for each in arrays)
    log_hazard = np.full(beta.shape, np.inf)
    pays = (beta > 1.0) & (failure > planned)
    with np.errstate(over="ignore"):
        ratio = planned[pays] / (failure[pays] - planned[pays])
    log_hazard[pays] = _log_hazard_at_best(beta[pays], ratio)
    finite = log_hazard < np.log(LARGEST_HAZARD)
    age, cost = np.full(beta.shape, np.inf), failure / _mean_life(beta, eta)
    log_age = log_hazard[finite] / beta[finite]
    age[finite] = eta[finite] * np.exp(log_age)
    hazard = beta[finite] / eta[finite] * np.exp((beta[finite] - 1.0) * log_age)
    cost[finite] = (failure[finite] - planned[finite]) * hazard
    whole = arrays[0].shape
    if whole == ():
        return ReplacementAge(float(age[0]), float(cost[0]))
    return ReplacementAge(age.reshape(whole), cost.reshape(whole))


def replacement_cost_rate(
    age: npt.ArrayLike,
    life: tuple[npt.ArrayLike, npt.ArrayLike],
    costs: tuple[npt.ArrayLike, npt.ArrayLike],
) -> FloatArray:
    """C(T): what renewing at ``age`` costs per unit of time, of the broadcast shape.

    ``life``: shape and scale; ``costs``: planned and failure cost. An infinite age renews only what fails.

    Raises
    ------
    ParameterError
        For an age, shape or scale not above 0, or a cost below 0.
    """
    from scipy.special import gammainc

    (beta, eta), (planned, failure) = _checked_life(*life), _checked_costs(*costs)
    until = np.asarray(age, dtype=float)
    if not (until > 0).all():
        raise ParameterError(f"age must be above 0, got {until[~(until > 0)].ravel()[0]:g}")
    with np.errstate(over="ignore"):
        hazard = np.exp(np.minimum(beta * (np.log(until) - np.log(eta)), LARGEST_HAZARD))
    paid = planned + (failure - planned) * -np.expm1(-hazard)
    rate: FloatArray = paid / (_mean_life(beta, eta) * gammainc(1.0 / beta, hazard))
    return rate


def _log_hazard_at_best(beta: FloatArray, ratio: FloatArray) -> FloatArray:
    """log x (n,) where the left side meets the ratio; infinite where it does so after every part has failed."""
    low = np.full(beta.shape, LEAST_LOG_HAZARD)
    high = np.full(beta.shape, np.log(LARGEST_HAZARD))
    never = _gain(high, beta) < ratio
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        short = _gain(middle, beta) < ratio
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    # With nothing to pay for a renewal the best age is 0.
    found = np.where(ratio > 0, 0.5 * (low + high), -np.inf)
    return np.where(never, np.inf, found)


def _gain(log_hazard: FloatArray, beta: FloatArray) -> FloatArray:
    """The left side: hazard times expected life less the chance of failing, both until T."""
    from scipy.special import gamma, gammainc

    hazard = np.exp(log_hazard)
    lived = gamma(1.0 + 1.0 / beta) * gammainc(1.0 / beta, hazard)
    gain: FloatArray = beta * np.exp((1.0 - 1.0 / beta) * log_hazard) * lived + np.expm1(-hazard)
    return gain


def _mean_life(beta: FloatArray, eta: FloatArray) -> FloatArray:
    from scipy.special import gamma

    mean: FloatArray = eta * gamma(1.0 + 1.0 / beta)
    return mean


def _checked_life(shape: npt.ArrayLike, scale: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    return _above_nought("shape", shape), _above_nought("scale", scale)


def _checked_costs(planned: npt.ArrayLike, failure: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    return not_negative("planned_cost", planned), not_negative("failure_cost", failure)


def _above_nought(name: str, values: npt.ArrayLike) -> FloatArray:
    array = np.asarray(values, dtype=float)
    bad = ~(np.isfinite(array) & (array > 0))
    if bad.any():
        raise ParameterError(f"{name} must be above 0 and finite, got {array[bad].ravel()[0]:g}")
    return array
