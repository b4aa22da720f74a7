"""What the rules of a trade table are, and the cells that every table has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from riskmodel.trade.cells import Cell, number, text, word

Pairs = tuple[tuple[str, str], ...]

PROBABILITY = number(0.0, 1.0)
STATUS = word("published", "common practice", "judgement", "from memory")
SOURCED: dict[str, Cell] = {"source": text, "status": STATUS}
LOW_HIGH: Pairs = (("low", "high"),)


@dataclass(frozen=True)
class TableRules:
    """One table: an overlay row replaces shipped rows of the same ``key``; no two rows share ``unique``."""

    name: str
    key: tuple[str, ...]
    unique: tuple[str, ...]
    cells: Mapping[str, Cell]
    rising: Pairs = ()
