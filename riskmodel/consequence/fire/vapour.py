"""Fuel that leaks into a space: how much vapour it gives, how strong it gets, and how long it stays flammable."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.consequence.fire.ventilation import above_zero

# The molar gas constant [J/(mol K)] (exact in the SI), the standard atmosphere [Pa] and the freezing point [K].
GAS_CONSTANT = 8.31446261815324
ATMOSPHERE_PA = 101325.0
FREEZING_K = 273.15
# Molar mass of dry air [g/mol]: a handbook figure, from memory.
AIR_MOLAR_MASS = 28.96
GRAMS_PER_KILOGRAM = 1000.0
# Handbook figures are given for this temperature [degC].
HANDBOOK_C = 20.0


@dataclass(frozen=True)
class Fuel:
    """A liquid fuel at 20 degC; every field broadcasts against the others.

    ``vapour_per_litre`` [m3/L]; ``saturation`` the strongest vapour it can give and ``lower_limit`` the weakest that
    burns, as shares of the air's volume; ``evaporation`` [min] in which a spill gives off 63 % of what it holds.
    """

    vapour_per_litre: FloatArray
    saturation: FloatArray
    lower_limit: FloatArray
    evaporation: FloatArray


def vapour_volume(
    density_kg_per_l: npt.ArrayLike, molar_mass_g: npt.ArrayLike, temperature_c: npt.ArrayLike = HANDBOOK_C
) -> FloatArray:
    """Vapour [m3] of one litre wholly evaporated at one atmosphere: n R T / p of an ideal gas.

    Raises ParameterError for a negative density or a molar mass of 0 or less.
    """
    moles = not_negative("density_kg_per_l", density_kg_per_l) * GRAMS_PER_KILOGRAM
    moles = moles / above_zero("molar_mass_g", molar_mass_g)
    kelvin = np.asarray(temperature_c, dtype=float) + FREEZING_K
    volume: FloatArray = moles * GAS_CONSTANT * kelvin / ATMOSPHERE_PA
    return volume


def relative_density(molar_mass_g: npt.ArrayLike) -> FloatArray:
    """How many times heavier than air a vapour is: over 1 it runs down and lies in the bilge.

    Raises ParameterError for a molar mass of 0 or less.
    """
    heavier: FloatArray = above_zero("molar_mass_g", molar_mass_g) / AIR_MOLAR_MASS
    return heavier


def at_temperature(fuel: Fuel, temperature_c: FloatArray, doubling_c: FloatArray) -> Fuel:
    """The fuel at another temperature: vapour pressure and evaporation double every ``doubling_c`` degrees."""
    warmer = 2.0 ** ((temperature_c - HANDBOOK_C) / doubling_c)
    expansion = (temperature_c + FREEZING_K) / (HANDBOOK_C + FREEZING_K)
    return Fuel(
        fuel.vapour_per_litre * expansion,
        np.minimum(fuel.saturation * warmer, 1.0),
        np.broadcast_to(fuel.lower_limit, np.broadcast(fuel.lower_limit, warmer).shape),
        fuel.evaporation / warmer,
    )


def airborne(
    liquid: FloatArray, evaporation: FloatArray, removal: FloatArray, minutes: FloatArray
) -> FloatArray:
    """Vapour [m3] in the air at a time after a spill whose liquid holds ``liquid`` m3 of it.

    The liquid gives off its vapour at a rate a = 1/``evaporation`` [1/min] and air takes vapour away at a rate b =
    ``removal`` [1/min]: a/(b - a) (exp(-a t) - exp(-b t)) of the liquid's vapour is in the air, in its stable form.
    """
    rate = 1.0 / evaporation
    slow = np.minimum(rate, removal)
    gap = np.abs(removal - rate) * minutes
    held: FloatArray = liquid * rate * minutes * np.exp(-slow * minutes) * _mean_decay(gap)
    return held


def strongest(
    liquid: FloatArray, evaporation: FloatArray, removal: FloatArray, minutes: FloatArray
) -> FloatArray:
    """The most vapour [m3] in the air at any time up to ``minutes`` after the spill: see ``airborne``."""
    return airborne(liquid, evaporation, removal, np.minimum(minutes, _peak_time(evaporation, removal)))


def concentration(vapour: FloatArray, pool: FloatArray, saturation: FloatArray) -> FloatArray:
    """Share of vapour [m3] in the low layer of ``pool`` m3 that it lies in, never over its saturation."""
    strength: FloatArray = np.minimum(vapour / pool, saturation)
    return strength


def minutes_flammable(strength: FloatArray, lower_limit: FloatArray, rate: FloatArray) -> FloatArray:
    """Minutes until vapour of a ``strength`` has thinned at a ``rate`` [1/min] to the lower limit; infinite at rate 0.

    ln(strength / limit) / rate. A mixture too rich to burn counts as flammable: it has a flammable rim and is on its
    way to being lean.
    """
    thinning = np.log(np.maximum(strength / lower_limit, 1.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        minutes: FloatArray = np.where(thinning > 0, thinning / rate, 0.0)
    return minutes


def _mean_decay(gap: FloatArray) -> FloatArray:
    """(1 - exp(-x)) / x, which is 1 at 0."""
    safe = np.where(gap > 0, gap, 1.0)
    mean: FloatArray = np.where(gap > 0, -np.expm1(-safe) / safe, 1.0)
    return mean


def _peak_time(evaporation: FloatArray, removal: FloatArray) -> FloatArray:
    """Minutes until the air holds most: ln(b/a) / (b - a), 1/a where the rates are equal, never where b is 0."""
    ratio = removal * evaporation
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = np.log(ratio) / (ratio - 1.0)
    near: FloatArray = np.where(np.abs(ratio - 1.0) < 1e-6, 1.0, apart)
    return evaporation * near
