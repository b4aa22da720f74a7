"""The checked fleet that everything behind the door may trust."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pandas import DataFrame

from riskmodel.fleet.settings import Settings


@dataclass(frozen=True)
class Fleet:
    """The checked tables with the day they are seen from; nobody changes a frame of it.

    vessels, items, records
        One row a boat, a part, a record, with every column of the table's descriptor: text as str ("" =
        missing), numbers as float64 (NaN = missing, units in the names), yes/no as bool (as "yes", "no" or ""
        where no answer is not no), dates as datetime64[ns] (NaT = missing). Dates that may be a day, a month or
        a year are windows: items have ``installed_after``, ``installed_by``, ``made_after``, ``made_by``;
        records have ``date`` (earliest) and ``date_by`` (latest day). Every record has its boat's
        ``vessel_id``. ``source_row`` is the row in the keeper's table, the head being row 1.
    periods
        The same for the periods of the boats' years, without rows where none are given: ``from`` and ``to`` are
        month-day texts, both days in the period, and no two periods of a boat overlap. What a period leaves
        open is not filled; ``riskmodel.fleet.periods`` takes it from the boat.
    claims
        An insurer's claims of wet systems on the days watched up to ``as_of``, without rows where none are given:
        ``loss_on``, ``cause`` (an end state or ``sinking``), ``gross`` and ``paid`` [currency].
    as_of, as_of_from
        The day the fleet is seen from, and where it came from: "given", "settings.toml" or "today".
    defaulted
        One row a default used: table, column, value, count, source, status.
    given
        For each table a frame of bool like it: True where the keeper gave the value.
    notes
        What was converted, left out or assumed, in plain sentences.
    source
        The name of the folder or workbook, as shown to people.
    """

    vessels: DataFrame
    items: DataFrame
    records: DataFrame
    periods: DataFrame
    claims: DataFrame
    settings: Settings
    as_of: date
    as_of_from: str
    defaulted: DataFrame
    given: Mapping[str, DataFrame]
    notes: tuple[str, ...]
    source: str
