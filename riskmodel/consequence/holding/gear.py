"""Anchor gear under wind: the load on it, its strength when new, and what wear, water and knots leave of that."""

from __future__ import annotations

import math

import numpy as np

from riskmodel.arrays import FloatArray

# Air at sea level and 15 degrees [kg/m3]: the standard atmosphere.
AIR_DENSITY = 1.225


def windage_load(wind: FloatArray, area_m2: FloatArray, drag: FloatArray) -> FloatArray:
    """Steady pull [N] of a wind [m/s] on a frontal area: half the air's density x drag x area x wind squared."""
    load: FloatArray = 0.5 * AIR_DENSITY * drag * area_m2 * np.square(wind)
    return load


def frontal_area(length_m: FloatArray, share: FloatArray) -> FloatArray:
    """Area [m2] that a boat lying to its anchor turns to the wind: a share of its length squared (judgement)."""
    area: FloatArray = share * np.square(length_m)
    return area


def chain_strength(link_mm: FloatArray, stress: FloatArray) -> FloatArray:
    """Least breaking force [N] of new chain: both sides of a link of this thickness at the grade's stress [N/mm2]."""
    force: FloatArray = 2.0 * stress * math.pi / 4.0 * np.square(link_mm)
    return force


def rope_strength(rope_mm: FloatArray, stress: FloatArray) -> FloatArray:
    """Breaking force [N] of new dry rope of this thickness at a stress [N/mm2] over its round section."""
    force: FloatArray = stress * math.pi / 4.0 * np.square(rope_mm)
    return force


def chain_strength_left(wear: FloatArray) -> FloatArray:
    """Share of strength left when the links have lost this share of their thickness: (1 - wear) squared."""
    left: FloatArray = np.square(1.0 - wear)
    return left


def rope_strength_left(wet: FloatArray, knot: FloatArray) -> FloatArray:
    """Share of strength left of a wet rope with a knot in it, each taking its own share of what there is."""
    left: FloatArray = (1.0 - wet) * (1.0 - knot)
    return left


def share_parting(load: FloatArray, strength: FloatArray, least: FloatArray, most: FloatArray) -> FloatArray:
    """Share of weakened parts that a load breaks, when from ``least`` to ``most`` of their ``strength`` is left.

    What is left is taken as even on the scale of its logarithm between the two (judgement).
    """
    needed = np.maximum(load / strength, np.finfo(float).tiny)
    share: FloatArray = np.clip(np.log(needed / least) / np.log(most / least), 0.0, 1.0)
    return share
