"""Judged numbers as small tuples: a range, and a range with its middle."""

from __future__ import annotations

from typing import NamedTuple


class Range(NamedTuple):
    """The two ends of a central 90 % of our doubt."""

    low: float
    high: float


class Spread(NamedTuple):
    """A judged quantity of care: low, typical and high."""

    low: float
    typical: float
    high: float
