"""In which currency the trade's prices are, and whether settings.toml turns them into the fleet's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from riskmodel.errors import TableError
from riskmodel.tables import read_table

# The tables with a column of currencies, and what their rows are told apart by.
PRICED = {"tasks": ("item_class", "task"), "end_states": ("end_state",)}


def price_faults(given: Mapping[str, Any], overlay: Path | None) -> list[tuple[str, str, str]]:
    """What is wrong with ``currency`` and ``price_scale`` beside the trade's prices: key, rule, what came."""
    currency, scale = given.get("currency"), given.get("price_scale")
    if currency is None:
        return [] if scale is None else [("currency", "must be given with price_scale", "nothing")]
    try:
        others = sorted(_currencies(overlay) - {currency.strip()})
    except TableError:
        # Whoever reads the tables themselves says what is wrong with them.
        return []
    if len(others) > 1:
        rule = f"must be turned into from one currency, but the price tables are in {' and '.join(others)}"
        return [("currency", rule, currency)]
    if others and scale is None:
        rule = f"must say how many {currency} one {others[0]} costs, for the price tables are in {others[0]}"
        return [("price_scale", f"{rule} (1 takes them one for one)", "nothing")]
    if not others and scale not in (None, 1):
        return [("price_scale", f"must be left out where every price is in {currency} already", str(scale))]
    return []


def _currencies(overlay: Path | None) -> frozenset[str]:
    return frozenset(
        row["currency"] for name, key in PRICED.items() for row in read_table(name, key=key, overlay=overlay)
    )
