"""Core wetting behind failed bedding: what a wet area costs against a boat's whole deck repair."""

from __future__ import annotations

from riskmodel.arrays import FloatArray


def share_of_deck_repair(area_m2: FloatArray, length_m: FloatArray, area_per_metre: FloatArray) -> FloatArray:
    """A wet area [m2] as a share of the area whose renewal costs what the end state is taken to cost.

    That area grows with the boat's length: ``area_per_metre`` [m2/m]. Wet areas grow in proportion to time: a front
    drawn in by capillary forces runs with its square root (Lucas 1918, Washburn 1921; from memory), and the disc
    behind the front with the square of that.
    """
    share: FloatArray = area_m2 / (area_per_metre * length_m)
    return share
