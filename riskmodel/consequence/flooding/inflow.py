"""What comes in: through holes by depth, as drips, and as rain."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

GRAVITY = 9.80665
"""Standard gravity [m/s2], 3rd General Conference on Weights and Measures, 1901."""

SHARP_EDGED, SHORT_TUBE, IDEAL = 0.61, 0.82, 1.0
"""Discharge coefficients of a hole in a plate, of a tube two or three bores long, and of no loss at all (handbooks
of hydraulics). Published tables for one and the same hole differ by 1.66, for some print the ideal flow as it stands:
say the coefficient beside the figure."""

DROPS_PER_MILLILITRE = 20.0
"""The usual convention (from memory); real drops run from 15 to 25 a millilitre."""

MINUTE, DAY = 60.0, 86_400.0
_CUBIC_METRES_PER_MILLILITRE, _LITRES_PER_CUBIC_METRE = 1e-6, 1e3


def inflow_rate(
    area: npt.ArrayLike, depth: npt.ArrayLike, discharge_coefficient: npt.ArrayLike = SHARP_EDGED
) -> FloatArray:
    """Flow through a hole under water [m3/s]: C_d A sqrt(2 g h), broadcast over the arguments.

    Parameters
    ----------
    area : array_like
        Of the hole [m2].
    depth : array_like
        Head over the hole [m]; 0 or less is a hole above water, through which nothing flows.
    discharge_coefficient : array_like
        SHARP_EDGED unless given; above 0, at most 1.

    Raises
    ------
    ParameterError
        For a negative area, anything not a number or infinite, and a coefficient outside its range.
    """
    flow: FloatArray = orifice(area, discharge_coefficient) * np.sqrt(head(depth))
    return flow


def total_inflow(
    areas: npt.ArrayLike, depths: npt.ArrayLike, discharge_coefficient: npt.ArrayLike = SHARP_EDGED
) -> FloatArray:
    """Flow through several holes at once [m3/s], holes along the last axis, each at its own depth.

    Raises ParameterError as ``inflow_rate`` does.
    """
    total: FloatArray = np.atleast_1d(inflow_rate(areas, depths, discharge_coefficient)).sum(axis=-1)
    return total


def combined_opening(
    areas: npt.ArrayLike, depths: npt.ArrayLike, discharge_coefficient: npt.ArrayLike = SHARP_EDGED
) -> tuple[FloatArray, FloatArray]:
    """The one sharp-edged hole, as area [m2] and depth [m], that stands for holes along the last axis.

    It lets in exactly as much at these depths, and nearly as much as they change together. Holes above water do
    not count. Raises ParameterError as ``inflow_rate`` does.
    """
    heads = head(depths)
    strengths = np.atleast_1d(np.where(heads > 0, orifice(areas, discharge_coefficient), 0.0))
    strength = strengths.sum(axis=-1)
    root = (strengths * np.sqrt(heads)).sum(axis=-1) / np.where(strength > 0, strength, 1.0)
    return strength / orifice(1.0, SHARP_EDGED), root**2


def drip_rate(
    drops_per_minute: npt.ArrayLike, drops_per_millilitre: npt.ArrayLike = DROPS_PER_MILLILITRE
) -> FloatArray:
    """Flow of a drip [m3/s]; raises ParameterError unless drops are 0 or more, and a millilitre has some."""
    drops = not_negative("drops_per_minute", drops_per_minute)
    size = not_negative("drops_per_millilitre", drops_per_millilitre)
    if (size == 0).any():
        raise ParameterError("drops_per_millilitre must be above 0, got 0")
    flow: FloatArray = drops / size * (_CUBIC_METRES_PER_MILLILITRE / MINUTE)
    return flow


def litres_per_day(flow: npt.ArrayLike) -> FloatArray:
    """A flow [m3/s] in litres a day; raises ParameterError for a negative flow."""
    litres: FloatArray = not_negative("flow", flow) * (_LITRES_PER_CUBIC_METRE * DAY)
    return litres


def rain_inflow(
    rain_m_per_day: npt.ArrayLike, open_area_m2: npt.ArrayLike, share_entering: npt.ArrayLike
) -> FloatArray:
    """Rain that reaches the bilge [m3/s]: its depth a day on an area, times the share that does not run overboard.

    Raises ParameterError for a negative argument or a share above 1.
    """
    share = not_negative("share_entering", share_entering)
    if (share > 1).any():
        raise ParameterError(f"share_entering must be at most 1, got {share.max()}")
    rain = not_negative("rain_m_per_day", rain_m_per_day) * not_negative("open_area_m2", open_area_m2)
    flow: FloatArray = rain * share / DAY
    return flow


def orifice(area: npt.ArrayLike, discharge_coefficient: npt.ArrayLike) -> FloatArray:
    """C_d A sqrt(2 g) [m^2.5/s]: what the root of the head is multiplied by; raises ParameterError."""
    coefficient = np.asarray(discharge_coefficient, dtype=float)
    bad = ~((coefficient > 0) & (coefficient <= IDEAL))
    if bad.any():
        raise ParameterError(
            f"discharge_coefficient must be above 0 and at most 1, got {coefficient[bad][0]}"
        )
    strength: FloatArray = not_negative("area", area) * coefficient * np.sqrt(2.0 * GRAVITY)
    return strength


def head(depth: npt.ArrayLike) -> FloatArray:
    """A depth [m] as the head that drives water in: 0 above water; raises ParameterError unless finite."""
    values = np.asarray(depth, dtype=float)
    bad = ~np.isfinite(values)
    if bad.any():
        raise ParameterError(f"depth must be finite, got {values[bad][0]}")
    heads: FloatArray = np.maximum(values, 0.0)
    return heads
