"""Policy terms on one vessel's one loss of the year, before anything is added up: pure functions of outcomes.

Losses are (n, k): vessels by outcomes; what a vessel has once is (n,) or a number. A mean after terms is never
the terms of a mean: a deductible takes more than its share of small losses.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError


def at_market_value(loss: npt.ArrayLike, value: npt.ArrayLike) -> FloatArray:
    """Losses up to what the vessel is worth on the day [currency]."""
    losses = not_negative("loss", loss)
    found: FloatArray = np.minimum(losses, _by_vessel("value", value, losses))
    return found


def at_agreed_value(loss: npt.ArrayLike, value: npt.ArrayLike, agreed: npt.ArrayLike) -> FloatArray:
    """Losses where a total loss, of ``value`` or more, pays the ``agreed`` sum, and a repair up to that sum."""
    losses = not_negative("loss", loss)
    sums = _by_vessel("agreed", agreed, losses)
    total = losses >= _by_vessel("value", value, losses)
    found: FloatArray = np.where(total & (losses > 0), sums, np.minimum(losses, sums))
    return found


def deductible_of(
    value: npt.ArrayLike, amount: npt.ArrayLike = 0.0, share: npt.ArrayLike = 0.0
) -> FloatArray:
    """(n,) deductible [currency]: an amount, a share of the value, or the larger where a policy names both."""
    shares = not_negative("deductible share", share)
    if shares.max(initial=0.0) > 1:
        raise ParameterError(f"deductible share must lie in [0, 1], got {shares.max():g}")
    found: FloatArray = np.maximum(not_negative("deductible", amount), shares * not_negative("value", value))
    return found


def paid(loss: npt.ArrayLike, deductible: npt.ArrayLike = 0.0, limit: npt.ArrayLike = np.inf) -> FloatArray:
    """What is paid of each outcome [currency]: above the deductible, up to the limit (paid above the deductible)."""
    losses = not_negative("loss", loss)
    most = _by_vessel("limit", limit, losses)
    found: FloatArray = np.minimum(
        np.maximum(losses - _by_vessel("deductible", deductible, losses), 0.0), most
    )
    return found


def paid_salvage_inside(
    loss: npt.ArrayLike,
    salvage: npt.ArrayLike,
    deductible: npt.ArrayLike = 0.0,
    limit: npt.ArrayLike = np.inf,
) -> FloatArray:
    """The same where what the wreck brings lessens the loss before deductible and limit.

    ``salvage``: (n, k) [currency], or one share of the loss by vessel worked out before; never more than the
    loss.
    """
    losses = not_negative("loss", loss)
    return paid(np.maximum(losses - _fitting("salvage", salvage, losses), 0.0), deductible, limit)


def paid_salvage_outside(
    loss: npt.ArrayLike,
    salvage: npt.ArrayLike,
    deductible: npt.ArrayLike = 0.0,
    limit: npt.ArrayLike = np.inf,
) -> FloatArray:
    """The same where the loss is paid first, and the insurer then keeps what the wreck brings, up to what was paid."""
    losses = not_negative("loss", loss)
    found: FloatArray = np.maximum(
        paid(losses, deductible, limit) - _fitting("salvage", salvage, losses), 0.0
    )
    return found


def exclusive_chances(chance: npt.ArrayLike) -> FloatArray:
    """(n, k) chances of end states that exclude one another, from their chances (n, k) had each been alone.

    A vessel has one total loss a year: any comes with 1 - prod(1 - s), and each takes its share by log(1 - s),
    as hazards that run side by side do.
    """
    alone = not_negative("chance", chance)
    if alone.ndim != 2 or alone.max(initial=0.0) > 1:
        raise ParameterError(f"chance must be (n, k) in [0, 1], got shape {alone.shape}")
    # A certain end state has an endless hazard: one this large leaves the others nothing.
    hazard = -np.log1p(-np.minimum(alone, 1.0 - 1e-16))
    total = hazard.sum(axis=1, keepdims=True)
    some = total > 0
    found: FloatArray = np.where(some, -np.expm1(-total) * hazard / np.where(some, total, 1.0), 0.0)
    return found


def one_loss(chance: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Chance (n,) of a loss and weights (n, k) of its outcomes, from chances (n, k) of exclusive end states.

    Raises ParameterError where a vessel's chances add to more than 1.
    """
    each = not_negative("chance", chance)
    if each.ndim != 2:
        raise ParameterError(f"chance must be (n, k), got shape {each.shape}")
    total = each.sum(axis=1)
    if total.max(initial=0.0) > 1 + 1e-9:
        place = int(np.argmax(total))
        raise ParameterError(
            f"chances of exclusive end states add to {total[place]:g} at row {place}, more than 1"
        )
    weight = each / np.where(total > 0, total, 1.0)[:, None]
    # Without a chance any weights do, but they add to 1 like all others.
    weight[total == 0, 0] = 1.0
    return np.minimum(total, 1.0), weight


def _by_vessel(name: str, values: npt.ArrayLike, losses: FloatArray) -> FloatArray:
    """Values by vessel beside its outcomes; a limit may be infinite."""
    array = np.asarray(values, dtype=float)
    if np.isnan(array).any() or (array < 0).any():
        raise ParameterError(f"{name} must be 0 or more, got {array.min():g}")
    if array.ndim == 1 and losses.ndim == 2:
        array = array[:, None]
    return _fitting(name, array, losses)


def _fitting(name: str, values: npt.ArrayLike, losses: FloatArray) -> FloatArray:
    array = np.asarray(values, dtype=float)
    try:
        return np.broadcast_to(array, losses.shape)
    except ValueError:
        raise ParameterError(f"{name} {array.shape} does not fit losses {losses.shape}") from None
