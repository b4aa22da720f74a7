"""Units in column names: which suffix means which unit, and the factor from US customary units to our own."""

from __future__ import annotations

from functools import cache

DAYS_PER_YEAR = 365.25
"""Days in a year: the Julian year."""

OWN_SUFFIXES = ("mm", "m", "cm2", "lpm", "m3", "kw", "kg")
"""Suffixes of the units used inside: mm, m, square centimetre, litre a minute, cubic metre, kilowatt, kilogram."""

US_SUFFIXES = ("in", "ft", "sqin", "sqft", "gph", "gpm", "cfm", "hp", "lb", "gal", "cuft")
"""Suffixes of the US customary units that are converted on reading."""

_OTHER_LENGTHS = ("cm", "km", "inch", "inches", "foot", "feet", "yd", "metre", "metres", "meter", "meters")
_OTHER_AREAS = ("mm2", "m2", "in2", "ft2", "sqm")
_OTHER_VOLUMES = ("l", "litre", "litres", "liter", "liters", "ml", "gals", "gallon", "gallons", "ft3")
_OTHER_RATES = ("lph", "lps", "m3h", "kn", "kpa", "psi", "bar", "w", "lbs")

OTHER_SUFFIXES = (*_OTHER_LENGTHS, *_OTHER_AREAS, *_OTHER_VOLUMES, *_OTHER_RATES)
"""Suffixes that plainly name a unit which is not read: a column under one is refused, not guessed at."""


def conversion_factor(us_suffix: str, own_suffix: str) -> float | None:
    """Own units in one US customary unit; None where the two measure different things.

    ``conversion_factor("in", "mm")`` is 25.4. Gallons are US liquid gallons, horsepower is mechanical, cfm is
    cubic feet a minute.
    Source: the definitions in scipy.constants.
    """
    us = _si_sizes().get(us_suffix)
    own = _si_sizes().get(own_suffix)
    if us is None or own is None or us[0] != own[0]:
        return None
    # Fifteen digits: the quotient of two exact definitions is exact again, 25.4 and not 25.399999999999997.
    return float(f"{us[1] / own[1]:.15g}")


def split_suffix(column: str) -> tuple[str, str]:
    """What a column measures and its unit: ``rated_flow_gph`` gives ``("rated_flow", "gph")``."""
    base, _, suffix = column.rpartition("_")
    return (base, suffix) if base else (column, "")


@cache
def _si_sizes() -> dict[str, tuple[str, float]]:
    # Imported here because scipy.constants costs a fifth of a second and most tables need no conversion.
    from scipy import constants

    # scipy builds the foot as 12 times an inexact inch; rounding gives back the exact definition, 0.3048.
    foot = round(constants.foot, 12)
    return {
        "mm": ("length", constants.milli),
        "m": ("length", 1.0),
        "in": ("length", constants.inch),
        "ft": ("length", foot),
        "cm2": ("area", constants.centi**2),
        "sqin": ("area", constants.inch**2),
        "sqft": ("area", foot**2),
        "m3": ("volume", 1.0),
        "gal": ("volume", constants.gallon),
        "cuft": ("volume", foot**3),
        "lpm": ("flow", constants.liter / constants.minute),
        "gph": ("flow", constants.gallon / constants.hour),
        "gpm": ("flow", constants.gallon / constants.minute),
        "cfm": ("flow", foot**3 / constants.minute),
        "kw": ("power", constants.kilo),
        "hp": ("power", constants.hp),
        "kg": ("mass", 1.0),
        "lb": ("mass", constants.lb),
    }
