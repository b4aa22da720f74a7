"""Invents an insurer's schedule of any size and writes it as Parquet, a million boats as easily as ten.

Everything in it is made up: no figure of it says anything of real boats. It has the shape of a real schedule: kinds of
boat of unequal frequency, values that go with length and age, parts renewed now and then, blanks.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from riskmodel.atomic_write import atomic_file
from riskmodel.errors import ParameterError
from riskmodel.trade import Trade, load_trade, typical_outfit

# Shares and middles of an invented population, by propulsion: share of boats, length [m].
PROPULSIONS = {
    "outboard": (0.45, 6.0),
    "sterndrive": (0.18, 7.5),
    "inboard_shaft": (0.12, 10.5),
    "sail_shaft": (0.13, 10.0),
    "sail_outboard": (0.08, 7.0),
    "inboard_jet": (0.04, 6.0),
}
WORDS = {
    "water": {"salt": 0.55, "fresh": 0.35, "brackish": 0.10},
    "climate": {"temperate": 0.6, "cold": 0.25, "hot": 0.15},
    "kept": {"afloat": 0.45, "trailer": 0.35, "mooring": 0.12, "rack": 0.08},
}
VISIT_DAYS, VISIT_SHARES = (3.0, 7.0, 14.0, 30.0), (0.25, 0.4, 0.25, 0.1)
BLANK, UNKNOWN_AGE = 0.3, 0.15
PORTS = 3000
# Mean years between renewals of an invented part.
RENEWED_YEARS = 8.0
OLDEST_YEARS = 55
# Of a table that is held in memory, and of a row group.
MOST_ROWS = 1_000_000
DAYS = 365.25


@dataclass(frozen=True)
class _Boats:
    ids: Any
    kind: npt.NDArray[np.intp]
    built: npt.NDArray[np.int64]
    table: Any


def write_synthetic_book(
    folder: Path,
    boats: int,
    parts_each: int = 10,
    *,
    seed: int = 1,
    as_of: date,
    boats_a_group: int = 500_000,
) -> None:
    """``vessels.parquet`` and, for ``parts_each`` above 0, ``items.parquet`` of an invented book in ``folder``.

    Row groups hold ``boats_a_group`` boats, and as many parts at most as 1,000,000. The same arguments give the same
    rows. Files appear whole or not at all. Raises ParameterError for numbers that cannot be.
    """
    if boats < 1 or not 0 <= parts_each <= MOST_ROWS or boats_a_group < 1:
        raise ParameterError(
            f"boats and boats_a_group must be 1 or more and parts_each 0 to {MOST_ROWS:,}, got {boats}, "
            f"{boats_a_group}, {parts_each}"
        )
    random, trade = np.random.default_rng(seed), load_trade()
    folder.mkdir(parents=True, exist_ok=True)
    with _Writers(folder) as write:
        for first in range(0, boats, boats_a_group):
            some = _boats(random, first, min(boats_a_group, boats - first), as_of)
            write("vessels", some.table)
            for parts in _parts(random, some, trade, (parts_each, as_of)):
                write("items", parts)
    if parts_each == 0:
        # Parts of a book that was there before are none of these boats'.
        (folder / "items.parquet").unlink(missing_ok=True)


class _Writers:
    """Opens a Parquet file in ``folder`` at its first table; all appear at the end, and none after an error."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.open: dict[str, Any] = {}
        self.files = ExitStack()

    def __enter__(self) -> _Writers:
        self.files.__enter__()
        return self

    def __call__(self, name: str, table: Any) -> None:
        if name not in self.open:
            file = self.files.enter_context(atomic_file(self.folder / f"{name}.parquet"))
            writer = pq.ParquetWriter(file, table.schema, compression="zstd")
            self.open[name] = self.files.enter_context(writer)
        self.open[name].write_table(table, row_group_size=MOST_ROWS)

    def __exit__(self, *error: Any) -> None:
        self.files.__exit__(*error)


def _boats(random: np.random.Generator, first: int, number: int, as_of: date) -> _Boats:
    names = list(PROPULSIONS)
    kind = random.choice(len(names), number, p=[share for share, _ in PROPULSIONS.values()])
    middle = np.array([length for _, length in PROPULSIONS.values()])[kind]
    length = np.round(np.clip(middle * np.exp(0.18 * random.normal(size=number)), 3.5, 24.0), 1)
    age = np.minimum(random.gamma(2.2, 8.0, number), OLDEST_YEARS).astype(np.int64)
    # New boats cost by the cube of their length and lose half their value in twelve years.
    value = 90.0 * length**3 * 0.5 ** (age / 12.0) * np.exp(0.35 * random.normal(size=number)) + 800.0
    built = as_of.year - age
    ids = _ids("boat", first, number)
    columns = {
        "vessel_id": ids,
        "propulsion": _words(kind, names),
        "built_year": pa.array(built.astype(np.int16)),
        "length_m": pa.array(length),
        "value": pa.array(np.round(value, -2)),
        "checked_every_days": _days_between(random, number),
        "home_port": _words(
            random.integers(0, PORTS, number), [f"port {place:04d}" for place in range(PORTS)]
        ),
    }
    for name, shares in WORDS.items():
        codes = random.choice(len(shares), number, p=list(shares.values()))
        columns[name] = _words(codes, list(shares), random.random(number) < BLANK)
    return _Boats(ids, kind, built, pa.table(columns))


def _parts(
    random: np.random.Generator, boats: _Boats, trade: Trade, wanted: tuple[int, date]
) -> Iterator[Any]:
    """Tables of parts, boat by boat, each of at most a million rows."""
    parts_each, as_of = wanted
    if not parts_each:
        return
    classes = sorted(trade.classes)
    codes = np.stack([_usual(trade, name, classes, parts_each) for name in PROPULSIONS])
    today = np.datetime64(as_of, "D")
    for start in range(0, len(boats.built), MOST_ROWS // parts_each):
        some = slice(start, start + MOST_ROWS // parts_each)
        held = codes[boats.kind[some]]
        number = held.size
        hull = np.repeat((as_of.year - boats.built[some]) * DAYS + 120.0, parts_each)
        age = np.minimum(random.exponential(RENEWED_YEARS * DAYS, number), hull).astype(np.int64)
        known = random.random(number) >= UNKNOWN_AGE
        owner = np.repeat(np.arange(len(held)), parts_each)
        vessel = boats.ids[start : start + len(held)].take(pa.array(owner))
        place = _words(
            np.tile(np.arange(parts_each), len(held)), [f"{each:02d}" for each in range(parts_each)]
        )
        yield pa.table(
            {
                "item_id": pc.binary_join_element_wise(vessel, place.cast(pa.string()), "-"),
                "vessel_id": vessel,
                "item_class": _words(held.ravel(), classes),
                "installed_on": pa.array(today - age, pa.date32(), mask=~known),
            }
        )


def _usual(trade: Trade, propulsion: str, classes: list[str], number: int) -> npt.NDArray[np.intp]:
    """Places in ``classes`` of the parts such a boat most often carries; repeated where there are fewer."""
    outfit = typical_outfit(trade, propulsion, PROPULSIONS[propulsion][1], None)
    names = sorted(outfit, key=lambda name: (-outfit[name], name))
    return np.resize([classes.index(name) for name in names[:number]], number)


def _ids(word: str, first: int, number: int) -> Any:
    numbers = pc.utf8_lpad(pa.array(np.arange(first, first + number)).cast(pa.string()), 8, "0")
    return pc.binary_join_element_wise(word, numbers, "-")


def _words(codes: npt.NDArray[Any], words: list[str], blank: npt.NDArray[np.bool_] | None = None) -> Any:
    return pa.DictionaryArray.from_arrays(pa.array(codes.astype(np.int32), mask=blank), pa.array(words))


def _days_between(random: np.random.Generator, number: int) -> Any:
    days = random.choice(VISIT_DAYS, number, p=VISIT_SHARES)
    return pa.array(days, mask=random.random(number) < BLANK)
