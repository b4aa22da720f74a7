"""The frozen records of what bears on a life from outside: looks, surroundings and readings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Detection:
    """Chance that one look of a thoroughness sees an open warning window, central 90 % of our doubt, to 0.95.

    ``thoroughness`` glanced (from where one stands), handled (touched, bent, worked) or opened (fully extended
    or taken apart). A look, not a test: a dead pump looks like a live one.
    """

    item_class: str
    thoroughness: str
    low: float
    high: float
    source: str
    status: str


@dataclass(frozen=True)
class Surrounding:
    """How many times faster than the trade interval presumes a mechanism ages where a vessel's column says so.

    A rate over 1 shortens life. A row holds where the column has a ``level``, or where its value divided by the
    default of the boat's kind lies in [at_least, below): 2 is twice the usual hours. ``item_class`` any is
    every class of the mechanism that has no rows of its own for the factor.
    """

    factor: str
    column: str
    level: str
    at_least: float | None
    below: float | None
    mechanism: str
    item_class: str
    rate_low: float
    rate_high: float
    source: str
    status: str
    note: str


@dataclass(frozen=True)
class Reading:
    """What a measured value says of a part: the values from which it is suspect, failing (needs work), failed.

    ``compare`` is at_least (worse as it rises), at_most (worse as it falls) or made_on (a year that dates the
    part and finds nothing). A threshold is None where the reading never says so much. ``path_low`` and
    ``path_high`` are the usual change a year, towards the worse side, in a part that wears [reading_unit a
    year]; None where readings have no trend worth following.
    """

    item_class: str
    reading_unit: str
    condition: str
    compare: str
    suspect: float | None
    failing: float | None
    failed: float | None
    path_low: float | None
    path_high: float | None
    meaning: str
    source: str
    status: str
