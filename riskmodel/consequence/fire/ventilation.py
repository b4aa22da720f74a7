"""How a space with fuel is aired: what the rules ask of blower, vents and ducts, and how fast it clears."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

# The international foot and inch (exact).
CUBIC_METRES_PER_CUBIC_FOOT = 0.3048**3
CM2_PER_SQUARE_INCH = 2.54**2
SECONDS_PER_MINUTE = 60.0
# 33 CFR 183.610 Table, from memory: the net volumes [cu ft] where one formula gives way to the next.
SMALL_SPACE_CUFT, LARGE_SPACE_CUFT = 34.0, 100.0
# 33 CFR 183.630(e), text read: no opening or duct of 3 square inches or less.
LEAST_VENT_SQIN = 3.0
# 33 CFR 183.605, text read: square inches of open area for each cubic foot that make a space open to the atmosphere.
OPEN_SQIN_PER_CUFT = 15.0
# 33 CFR 183.610(d) and 183.630(b), text read: air is drawn off from the lower third.
EXHAUST_DUCT_REACH = 1.0 / 3.0
# 46 CFR 25.40-1, from memory: fresh air is let in at least midway down, or below the carburettor's air intake.
INTAKE_DUCT_REACH = 0.5


def blower_rating_cfm(volume_cuft: npt.ArrayLike) -> FloatArray:
    """Least rated flow [cubic feet a minute] of the blowers of a space of a net volume [cubic feet].

    50 below 34, then 1.5 V, then V/2 + 100 over 100; the formulas meet at 100 and all but meet (50 and 51) at 34.
    33 CFR 183.610 Table, column 2, from memory. Raises ParameterError for a negative volume.
    """
    volume = not_negative("volume_cuft", volume_cuft)
    return _by_volume(volume, np.full_like(volume, 50.0), 1.5 * volume, volume / 2.0 + 100.0)


def blower_output_cfm(volume_cuft: npt.ArrayLike) -> FloatArray:
    """Least flow [cubic feet a minute] that leaves the boat through ducts and grilles.

    20 below 34, then 0.6 V, then 0.2 V + 40 over 100. 33 CFR 183.610 Table, column 3, from memory.
    Raises ParameterError for a negative volume.
    """
    volume = not_negative("volume_cuft", volume_cuft)
    return _by_volume(volume, np.full_like(volume, 20.0), 0.6 * volume, 0.2 * volume + 40.0)


def blower_rating(volume_m3: npt.ArrayLike) -> FloatArray:
    """Least rated flow [m3/min] of the blowers of a space of a net volume [m3]; see ``blower_rating_cfm``."""
    return CUBIC_METRES_PER_CUBIC_FOOT * blower_rating_cfm(_cubic_feet(volume_m3))


def blower_output(volume_m3: npt.ArrayLike) -> FloatArray:
    """Least flow [m3/min] that leaves the boat, of a space of a net volume [m3]; see ``blower_output_cfm``."""
    return CUBIC_METRES_PER_CUBIC_FOOT * blower_output_cfm(_cubic_feet(volume_m3))


def natural_vent_area_sqin(volume_cuft: npt.ArrayLike) -> FloatArray:
    """Least area [square inches] of supply, and again of exhaust, for a space of a net volume [cubic feet].

    A = 5 ln(V/5), and never 3 or less. 33 CFR 183.630(d) and (e), text read. Raises ParameterError for a negative
    volume.
    """
    volume = not_negative("volume_cuft", volume_cuft)
    # Below 5 cubic feet the logarithm is negative and the least duct stands.
    area: FloatArray = np.maximum(5.0 * np.log(np.maximum(volume, 5.0) / 5.0), LEAST_VENT_SQIN)
    return area


def natural_vent_area(volume_m3: npt.ArrayLike) -> FloatArray:
    """Least vent area [cm2], supply and exhaust each, of a net volume [m3]; see ``natural_vent_area_sqin``."""
    return CM2_PER_SQUARE_INCH * natural_vent_area_sqin(_cubic_feet(volume_m3))


def open_area(volume_m3: npt.ArrayLike) -> FloatArray:
    """Open area [cm2] from which a space of a net volume [m3] counts as open to the atmosphere.

    15 square inches for each cubic foot. 33 CFR 183.605, text read. Raises ParameterError for a negative volume.
    """
    return CM2_PER_SQUARE_INCH * OPEN_SQIN_PER_CUFT * _cubic_feet(volume_m3)


def exhaust_duct_is_low_enough(
    end_height: npt.ArrayLike, bilge_water: npt.ArrayLike
) -> npt.NDArray[np.bool_]:
    """Whether the duct that draws air off ends in the lower third and above the bilge water that is usually there.

    Both are heights above the bottom of the space as a share of its depth. 33 CFR 183.610(d), text read. Raises
    ParameterError for a negative height.
    """
    end, water = not_negative("end_height", end_height), not_negative("bilge_water", bilge_water)
    low: npt.NDArray[np.bool_] = (end <= EXHAUST_DUCT_REACH) & (end > water)
    return low


def intake_duct_is_low_enough(
    end_height: npt.ArrayLike, carburettor_intake: npt.ArrayLike = 0.0
) -> npt.NDArray[np.bool_]:
    """Whether the duct that lets fresh air in reaches midway down, or below the carburettor's air intake.

    Heights above the bottom of the space as a share of its depth; no carburettor, no second way to comply. 46 CFR
    25.40-1, from memory. Raises ParameterError for a negative height.
    """
    end = not_negative("end_height", end_height)
    carburettor = not_negative("carburettor_intake", carburettor_intake)
    low: npt.NDArray[np.bool_] = (end <= INTAKE_DUCT_REACH) | (end < carburettor)
    return low


def natural_flow(area_cm2: npt.ArrayLike, draught_m_per_s: npt.ArrayLike) -> FloatArray:
    """Air [m3/min] that wind and warmth move through vents of an area [cm2] at a draught [m/s]: Q = A v.

    Raises ParameterError for a negative area or draught.
    """
    area = not_negative("area_cm2", area_cm2)
    flow: FloatArray = area * 1e-4 * not_negative("draught_m_per_s", draught_m_per_s) * SECONDS_PER_MINUTE
    return flow


def left_after(
    flow: npt.ArrayLike, volume_m3: npt.ArrayLike, minutes: npt.ArrayLike, mixing: npt.ArrayLike = 1.0
) -> FloatArray:
    """Share of the vapour left after a time [min] of air moving at a flow [m3/min] through a volume [m3].

    exp(-m Q t / V), one air change leaving 1/e of a well-mixed space. ``mixing`` m is the vapour in the air drawn off
    against the mean of the volume: below 1 where air goes straight from vent to vent. Raises ParameterError for
    negative arguments and for no volume.
    """
    changes = not_negative("flow", flow) * not_negative("minutes", minutes) * not_negative("mixing", mixing)
    left: FloatArray = np.exp(-changes / above_zero("volume_m3", volume_m3))
    return left


def above_zero(name: str, values: npt.ArrayLike) -> FloatArray:
    """``values`` as floats; raises ParameterError unless each is a finite number above 0."""
    array = not_negative(name, values)
    if (array == 0).any():
        raise ParameterError(f"{name} must be above 0, got 0")
    return array


def _by_volume(volume: FloatArray, small: FloatArray, middle: FloatArray, large: FloatArray) -> FloatArray:
    flow: FloatArray = np.where(
        volume < SMALL_SPACE_CUFT, small, np.where(volume <= LARGE_SPACE_CUFT, middle, large)
    )
    return flow


def _cubic_feet(volume_m3: npt.ArrayLike) -> FloatArray:
    volume: FloatArray = not_negative("volume_m3", volume_m3) / CUBIC_METRES_PER_CUBIC_FOOT
    return volume
