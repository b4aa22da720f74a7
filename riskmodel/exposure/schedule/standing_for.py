"""Boats that stand for the kinds of a schedule: a fleet of one boat a kind, with what its boats carry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import BOATS
from riskmodel.exposure.schedule.ages import NEW
from riskmodel.exposure.schedule.boats import Schedule
from riskmodel.exposure.schedule.groups import PER_UNIT, IntArray
from riskmodel.exposure.schedule.reading import Counted
from riskmodel.fleet import Fleet
from riskmodel.fleet.checks import CheckedTable, empty_table
from riskmodel.fleet.defaults import fill_tables, read_defaults, season_defaults
from riskmodel.fleet.schema import Schema, read_schema
from riskmodel.fleet.windows import given_frame, typed_frame
from riskmodel.risk.learned import Learned, learn, only_boats

WHOLE = ("built_year", "hulls", "compartments")


@dataclass(frozen=True, eq=False)
class Kinds:
    """``learned``: a fleet of one boat a row.

    Each row (r,) stands for ``boats`` of ``kind``, that list parts (``listed``) or do not; ``number`` (r, classes,
    cells to NEW) of their parts, in the order of ``classes``; ``age`` (classes, cells to NEW) [days]. An assumed outfit
    is in no cell but, once it is renewed, NEW.
    """

    learned: Learned
    kind: IntArray
    listed: npt.NDArray[np.bool_]
    boats: IntArray
    number: FloatArray
    age: FloatArray
    classes: tuple[str, ...]


def standing_for(schedule: Schedule, counted: Counted) -> Kinds:
    """The kinds of a counted schedule as a fleet that can be assessed.

    A number of a row is the mean of its boats'; a boat without a list of parts has the typical outfit, of unknown age.
    """
    boats = counted.boats
    kinds = len(boats.kinds.boats)
    place = 2 * boats.kind + counted.listed
    both = np.bincount(place, minlength=2 * kinds)
    rows = np.flatnonzero(both)
    kind, listed = rows // 2, rows % 2 == 1
    value = np.bincount(place, boats.value, 2 * kinds)[rows] / PER_UNIT / both[rows]
    classes = schedule.bounds.item_classes
    cells = np.zeros((len(rows), len(classes), NEW + 1))
    cells[listed, :, :NEW] = counted.number[kind[listed]]
    vessels = _vessels(boats.kinds.means.iloc[kind], value, both[rows])
    items = _items(vessels.frame["vessel_id"], cells.sum(axis=2), both[rows], classes)
    fleet = _fleet(schedule, vessels, items, counted)
    age = np.pad(counted.age, ((0, 0), (0, 1)))
    return Kinds(learn(fleet, schedule.as_of), kind, listed, both[rows], cells, age, classes)


def some_kinds(kinds: Kinds, rows: npt.NDArray[np.intp]) -> Kinds:
    """Some rows of Kinds, in rising order."""
    ids = frozenset(kinds.learned.fleet.vessels["vessel_id"].iloc[rows])
    return replace(
        kinds,
        learned=only_boats(kinds.learned, ids),
        kind=kinds.kind[rows],
        listed=kinds.listed[rows],
        boats=kinds.boats[rows],
        number=kinds.number[rows],
    )


def _vessels(means: pd.DataFrame, value: FloatArray, boats: IntArray) -> CheckedTable:
    schema = read_schema("vessels")
    values: dict[str, Any] = {
        "vessel_id": np.array([f"kind {row}" for row in range(len(means))], dtype=object)
    }
    values["value"] = value
    given: dict[str, Any] = {name: np.ones(len(means), dtype=bool) for name in values}
    for name in means.columns:
        field = next(each for each in schema.fields if each.name == name)
        told = means[name].to_numpy()
        if field.type == "boolean":
            values[name], given[name] = told == "yes", told != ""
        elif field.type in ("number", "integer"):
            values[name], given[name] = _number(told.astype(float), name), ~np.isnan(told.astype(float))
        else:
            values[name], given[name] = told.astype(object), told != ""
    table = _checked(schema, values, given)
    return CheckedTable(table.name, table.file, table.frame.assign(**{BOATS: boats}), table.given, (), ())


def _number(mean: FloatArray, name: str) -> FloatArray:
    return np.rint(mean) if name in WHOLE else mean


def _items(
    vessel_id: pd.Series, number: FloatArray, boats: IntArray, classes: tuple[str, ...]
) -> CheckedTable:
    row, place = np.nonzero(number)
    names = vessel_id.to_numpy()[row]
    values: dict[str, Any] = {
        "item_id": np.array(
            [f"{boat}/{classes[each]}" for boat, each in zip(names, place, strict=True)], dtype=object
        ),
        "vessel_id": names,
        "item_class": np.array(classes, dtype=object)[place],
        "quantity": number[row, place] / boats[row],
    }
    given = {name: np.ones(len(row), dtype=bool) for name in values}
    return _checked(read_schema("items"), values, given)


def _checked(schema: Schema, values: Mapping[str, Any], given: Mapping[str, Any]) -> CheckedTable:
    length = len(next(iter(values.values())))
    frame = typed_frame(schema, values, np.arange(length, dtype=np.int64))
    return CheckedTable(schema.name, schema.name, frame, given_frame(schema, given, frame), (), ())


def _fleet(schedule: Schedule, vessels: CheckedTable, items: CheckedTable, counted: Counted) -> Fleet:
    settings = schedule.bounds.settings
    defaults = (*season_defaults(settings), *read_defaults(settings.trade_folder))
    records = empty_table(read_schema("records"))
    frames, defaulted = fill_tables((vessels, items, records), defaults)
    return Fleet(
        vessels=frames["vessels"],
        items=frames["items"],
        records=frames["records"],
        periods=empty_table(read_schema("periods")).frame,
        claims=empty_table(read_schema("claims")).frame,
        settings=settings,
        as_of=schedule.as_of,
        as_of_from=schedule.as_of_from,
        defaulted=defaulted,
        given={table.name: table.given for table in (vessels, items, records)},
        notes=(*schedule.notes, *counted.notes),
        source=schedule.source,
    )
