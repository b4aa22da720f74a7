"""What a measured reading finds: sound, suspect, failing or failed."""

from __future__ import annotations

import math

from riskmodel.errors import ParameterError
from riskmodel.trade.evidence import Reading
from riskmodel.trade.records import Trade

FINDINGS = ("sound", "suspect", "failing", "failed")


def finding_of_reading(trade: Trade, item_class: str, value: float, unit: str) -> str:
    """The finding that a reading comes to, the worst of its rows; empty where its unit says nothing.

    A year marked on a part finds nothing: it dates the part. ``unit`` is matched without regard to capitals
    and spaces at its ends.

    Raises ParameterError for an unknown class or a reading that is not a finite number from 0 up.
    """
    if not 0.0 <= value < math.inf:
        raise ParameterError(f"reading must be a finite number from 0 up, got {value!r}")
    rows = [row for row in readings_of(trade, item_class, unit) if row.compare != "made_on"]
    return FINDINGS[max(_grade(row, value) for row in rows)] if rows else ""


def readings_of(trade: Trade, item_class: str, unit: str) -> tuple[Reading, ...]:
    """The rows that judge a reading of this unit on a class; none where the unit is unknown.

    Raises ParameterError for an unknown class.
    """
    if item_class not in trade.classes:
        raise ParameterError(f"item_class must be one of {', '.join(trade.classes)}, got {item_class!r}")
    wanted = _plain(unit)
    return tuple(
        row
        for row in trade.readings
        if row.item_class in {item_class, "any"} and _plain(row.reading_unit) == wanted
    )


def _plain(unit: str) -> str:
    return " ".join(unit.casefold().split())


def _grade(row: Reading, value: float) -> int:
    grade = 0
    for place, threshold in enumerate((row.suspect, row.failing, row.failed), start=1):
        if threshold is not None and (value <= threshold if row.compare == "at_most" else value >= threshold):
            grade = place
    return grade
