"""A boat to begin with: the parts such a boat usually carries, as rows for its keeper to correct."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from datetime import date

import pandas as pd

from riskmodel.errors import ParameterError
from riskmodel.fleet.schema import Field, read_schema
from riskmodel.trade import Trade, typical_outfit

VESSEL_ID = "V1"
# A part expected on fewer than half of such boats is named and not listed (judgement).
LEAST_COUNT = 0.5
# Up to this many like parts are worth a row each, since each can be renewed by itself (judgement).
MOST_ROWS = 3


@dataclass(frozen=True)
class Boat:
    """What the keeper knows at the start: kind, length [m], calendar year built, value [currency], name.

    ``guessed_value`` is the value too where it was guessed, else 0.
    """

    propulsion: str
    length_m: float
    built_year: int
    value: float
    name: str = ""
    guessed_value: float = 0.0


@dataclass(frozen=True)
class StarterParts:
    """``items``: rows for the items table; ``perhaps``: classes that fewer than half of such boats carry."""

    items: pd.DataFrame
    perhaps: tuple[str, ...]


def check_boat(boat: Boat, today: date) -> None:
    """Refuses a boat that the vessels table would refuse.

    Raises
    ------
    ParameterError
        With every fault, one a line.
    """
    given = {name: value for name, value in asdict(boat).items() if name != "guessed_value"}
    fields = [field for field in read_schema("vessels").fields if field.name in given]
    faults = [fault for field in fields if (fault := _fault(field, given[field.name]))]
    if boat.built_year > today.year + 1:
        faults.append(f"built_year must not be after {today.year + 1}, got {boat.built_year}")
    if faults:
        raise ParameterError("\n".join(faults))


def starter_parts(boat: Boat, trade: Trade) -> StarterParts:
    """The typical outfit as whole parts, in the trade's order of classes; no dates, for none are known.

    Raises
    ------
    ParameterError
        If the trade tables do not know the kind of boat.
    """
    outfit = typical_outfit(trade, boat.propulsion, boat.length_m, boat.built_year)
    expected = {name: outfit[name] for name in trade.classes if name in outfit}
    rows = [row for name, count in expected.items() if count >= LEAST_COUNT for row in _rows(name, count)]
    items = pd.DataFrame(rows, columns=["item_class", "position", "quantity"])
    items.insert(0, "item_id", [f"{VESSEL_ID}-{number:02d}" for number in range(1, len(items) + 1)])
    items.insert(1, "vessel_id", VESSEL_ID)
    return StarterParts(items, tuple(name for name, count in expected.items() if count < LEAST_COUNT))


def _fault(field: Field, value: object) -> str:
    if isinstance(value, str):
        allowed = not field.enum or value in field.enum
        return "" if allowed else f"{field.name} must be one of {', '.join(field.enum)}, got {value}"
    assert isinstance(value, int | float)
    if not math.isfinite(value):
        return f"{field.name} must be a number, got {value}"
    if value <= field.above:
        return f"{field.name} must be above {field.above:g}, got {value:g}"
    if not field.minimum <= value <= field.maximum:
        return f"{field.name} must lie from {max(field.minimum, field.above):g} to {field.maximum:g}, got {value:g}"
    return ""


def _rows(item_class: str, expected: float) -> list[tuple[str, str, int]]:
    """One class's rows: like parts apart while they are few, one row with a quantity when they are many."""
    count = max(math.floor(expected + 0.5), 1)
    if count == 1 or count > MOST_ROWS:
        return [(item_class, "", count)]
    return [(item_class, f"{place} of {count}", 1) for place in range(1, count + 1)]
