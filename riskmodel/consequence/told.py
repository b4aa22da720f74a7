"""Figures and sources of the physics in words, for the steps that are shown."""

from __future__ import annotations

import math

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.trade import Trade

# What is said, its value in words, and where it comes from.
Line = tuple[str, str, str]


def middle(values: FloatArray) -> float:
    """The median of all values."""
    return float(np.median(values))


def two_figures(value: float) -> str:
    """A figure to two digits, without an exponent."""
    if value == 0:
        return "0"
    places = 1 - math.floor(math.log10(abs(value)))
    written = f"{round(value, places):,.{max(places, 0)}f}"
    return written.rstrip("0").rstrip(".") if "." in written else written


def per_cent(share: float) -> str:
    """A share as a percentage to two digits."""
    return f"{two_figures(100 * share)} %"


def about_in(chance: float) -> str:
    """A chance as one in so many, or under one in a million: never nothing."""
    least = 1e-6
    return f"about 1 in {two_figures(1 / chance)}" if chance > least else "under 1 in a million"


def source_of(quantity: str, trade: Trade) -> str:
    """Source and status of a quantity of the physics table."""
    row = trade.physics[quantity]
    return f"{row.source}; {row.status}"


def own_or_source(own: float, quantity: str, trade: Trade) -> str:
    """Where a figure comes from: the boat's own, or the judged quantity that stands in for a blank."""
    return source_of(quantity, trade) if np.isnan(own) else "your vessels table"
