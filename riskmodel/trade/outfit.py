"""What a boat of a kind, length and build year usually carries."""

from __future__ import annotations

import math

from riskmodel.errors import ParameterError
from riskmodel.trade.records import OutfitRow, Trade


def typical_outfit(
    trade: Trade, propulsion: str, length_m: float, built_year: float | None
) -> dict[str, float]:
    """Expected count of each item class (may be a fraction) on a kind of boat.

    Parameters
    ----------
    trade
        The knowledge base.
    propulsion
        A kind of boat that the knowledge base knows.
    length_m
        Length of the hull [m], above 0.
    built_year
        Calendar year; None averages over the build periods.

    Raises
    ------
    ParameterError
        If the kind of boat is unknown, or a length or year cannot be one.
    """
    _refuse(trade, propulsion, length_m, built_year)
    outfit: dict[str, float] = {}
    for row in trade.outfits:
        if row.propulsion == propulsion and _within(length_m, row.length_from_m, row.length_below_m):
            count = row.quantity * _share_of_years(trade, row, length_m, built_year)
            if count > 0.0:
                outfit[row.item_class] = outfit.get(row.item_class, 0.0) + count
    return outfit


def _refuse(trade: Trade, propulsion: str, length_m: float, built_year: float | None) -> None:
    if propulsion not in trade.propulsions:
        raise ParameterError(f"propulsion must be one of {', '.join(trade.propulsions)}, got {propulsion!r}")
    if not 0.0 < length_m < math.inf:
        raise ParameterError(f"length_m must be a length above 0 m, got {length_m}")
    if built_year is not None and not math.isfinite(built_year):
        raise ParameterError(f"built_year must be a year or None, got {built_year}")


def _within(value: float, at_least: float | None, below: float | None) -> bool:
    return (at_least is None or value >= at_least) and (below is None or value < below)


def _share_of_years(trade: Trade, row: OutfitRow, length_m: float, built_year: float | None) -> float:
    if built_year is not None:
        return float(_within(built_year, row.built_from, row.built_before))
    if row.built_from is None and row.built_before is None:
        return 1.0
    return 1.0 / sum(
        other.propulsion == row.propulsion
        and other.item_class == row.item_class
        and not (other.built_from is None and other.built_before is None)
        and _within(length_m, other.length_from_m, other.length_below_m)
        for other in trade.outfits
    )
