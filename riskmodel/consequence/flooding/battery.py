"""How long a pump runs: battery, duty, and what a charger puts back."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

_HOUR = 3_600.0
_LITRES_A_MINUTE = 60_000.0

USABLE_SHARE = 0.5
"""Share of a battery's nameplate that a pump can draw (judgement): starting batteries give about half before the
voltage fails the pump; an old one less, a new deep-cycle one more."""

AMPERES_PER_LITRE_A_MINUTE = 0.075
"""Current of a 12 V bilge pump for each litre a minute on its label (judgement, from what labels commonly say)."""


def pump_amperes(
    rated_flow: npt.ArrayLike, amperes_per_litre_a_minute: npt.ArrayLike = AMPERES_PER_LITRE_A_MINUTE
) -> FloatArray:
    """Current [A] of a running pump of rated flow [m3/s], where its own is not known; raises ParameterError."""
    rated = not_negative("rated_flow", rated_flow)
    each = not_negative("amperes_per_litre_a_minute", amperes_per_litre_a_minute)
    current: FloatArray = rated * _LITRES_A_MINUTE * each
    return current


def pump_duty(inflow: npt.ArrayLike, pump: npt.ArrayLike) -> FloatArray:
    """Share of the time a pump runs: inflow over its output [both m3/s], at most 1.

    With nothing coming in it never runs; a pump that throws nothing runs all the time, its switch held up by the
    water. Raises ParameterError for a negative flow.
    """
    water, out = np.broadcast_arrays(not_negative("inflow", inflow), not_negative("pump", pump))
    full = water >= out
    duty: FloatArray = np.where(full, water > 0, water / np.where(full, 1.0, out))
    return duty


def pump_seconds(
    battery_ah: npt.ArrayLike,
    duty: npt.ArrayLike,
    amperes: npt.ArrayLike,
    *,
    usable_share: npt.ArrayLike = USABLE_SHARE,
    charger_amperes: npt.ArrayLike = 0.0,
) -> FloatArray:
    """Seconds until the battery is flat: usable ampere-hours over duty times current; inf where it never is.

    Parameters
    ----------
    battery_ah : array_like
        Nameplate capacity [Ah].
    duty, amperes : array_like
        Share of the time the pump runs, its current while it does [A].
    usable_share : array_like
        Share of the nameplate that can be drawn, 0 to 1.
    charger_amperes : array_like
        What shore power puts back [A]: inf where it always keeps up, 0 without it. While it covers the mean draw the
        pump is not limited.

    Raises
    ------
    ParameterError
        For a negative argument, or a duty or share above 1.
    """
    stored = not_negative("battery_ah", battery_ah) * _share("usable_share", usable_share)
    charge = np.asarray(charger_amperes, dtype=float)
    if not (charge >= 0).all():
        raise ParameterError(f"charger_amperes must be 0 or more, got {charge[~(charge >= 0)][0]}")
    draw = _share("duty", duty) * not_negative("amperes", amperes) - charge
    drains = draw > 0
    # A draw near nothing lasts longer than a float can say: inf, which is what is meant.
    with np.errstate(over="ignore"):
        seconds: FloatArray = np.where(drains, stored * _HOUR / np.where(drains, draw, 1.0), np.inf)
    return seconds


def endurance(
    inflow: npt.ArrayLike,
    pump: npt.ArrayLike,
    battery_ah: npt.ArrayLike,
    amperes: npt.ArrayLike,
    *,
    usable_share: npt.ArrayLike = USABLE_SHARE,
    charger_amperes: npt.ArrayLike = 0.0,
) -> FloatArray:
    """Seconds a pump runs against an inflow at the boat's floating trim [m3/s]; inf where it is never stopped.

    A pump that keeps up runs part of the time; one that does not runs all of it, also once the boat has settled to
    where it would keep up. Either way the duty at the start is the duty throughout. Raises ParameterError as
    ``pump_duty`` and ``pump_seconds`` do.
    """
    duty = pump_duty(inflow, pump)
    return pump_seconds(battery_ah, duty, amperes, usable_share=usable_share, charger_amperes=charger_amperes)


def _share(name: str, share: npt.ArrayLike) -> FloatArray:
    values = not_negative(name, share)
    if (values > 1).any():
        raise ParameterError(f"{name} must be at most 1, got {values.max()}")
    return values
