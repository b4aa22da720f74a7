"""Loads a fleet from disk: read, check, link, see from a day, fill; one door for all data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.causes import known_causes
from riskmodel.fleet.checks import Bounds, CheckedTable, check_table, empty_table
from riskmodel.fleet.claim_checks import claim_problems, claims_seen_from, settings_without_claims
from riskmodel.fleet.dates import refuse_days_beyond, refuse_other_than_days
from riskmodel.fleet.defaults import Default, fill_tables, read_defaults, season_defaults
from riskmodel.fleet.fleet import Fleet
from riskmodel.fleet.guesses import guess_notes
from riskmodel.fleet.histories import history_problems
from riskmodel.fleet.links import link_problems
from riskmodel.fleet.meters import meter_problems
from riskmodel.fleet.period_checks import period_notes, period_problems
from riskmodel.fleet.policy_checks import policy_problems
from riskmodel.fleet.repeats import repeat_notes
from riskmodel.fleet.schema import TABLES, read_schema
from riskmodel.fleet.settings import Settings, read_settings
from riskmodel.fleet.sources import RawFleet, fleet_folder, read_sources
from riskmodel.fleet.timing import seen_from
from riskmodel.tables import read_table

NO_ITEMS = "No items table: the typical outfit of each boat is assumed."
NO_RECORDS = "No records table: lives rest on trade intervals alone."


@dataclass(frozen=True)
class Opened:
    """A fleet as it lies on disk, before any check: its tables, settings, and the day it is to be seen from."""

    raw: RawFleet
    bounds: Bounds
    as_of: date
    as_of_from: str
    source: str


def load_fleet(path: Path | str, *, as_of: date | None = None, today: date | None = None) -> Fleet:
    """The checked fleet at ``path``: a folder of CSV or Parquet tables, or an Excel workbook.

    ``as_of`` is the day the fleet is seen from (default: settings.toml, else today); ``today`` is the day
    after which nothing can have been written (default: the calendar's).

    Raises TableError with every problem found in any table; nothing is loaded by half.
    """
    opened = open_sources(path, as_of, today)
    tables, problems = checked_sources(opened)
    if problems:
        raise TableError(problems)
    return fleet_of_tables(opened, tables)


def open_sources(path: Path | str, as_of: date | None, today: date | None) -> Opened:
    """What ``load_fleet`` reads, with what it is held against; a table that cannot be read leaves its problems."""
    path = Path(path)
    refuse_other_than_days(as_of=as_of, today=today)
    refuse_days_beyond(as_of=as_of)
    today = today or date.today()
    settings = read_settings(fleet_folder(path))
    day, day_from = day_seen_from(as_of, settings, today)
    raw = read_sources(path, settings)
    return Opened(raw, bounds_of(settings, max(day, today)), day, day_from, path.resolve().name)


def checked_sources(opened: Opened) -> tuple[dict[str, CheckedTable], list[Problem]]:
    """Every table checked by itself and against the others, and every problem of tables, settings and defaults."""
    tables, problems = _checked(opened.raw, opened.bounds)
    return tables, [*_defaults(opened.bounds.settings)[1], *problems]


def fleet_of_tables(opened: Opened, tables: Mapping[str, CheckedTable]) -> Fleet:
    """The fleet of tables without a problem: seen from its day, with its open cells filled."""
    settings = opened.bounds.settings
    seen, left_out = seen_from((tables["vessels"], tables["items"], tables["records"]), opened.as_of)
    claims, of_claims = claims_seen_from(tables["claims"], opened.as_of, settings.claims_from)
    frames, defaulted = fill_tables(seen, _defaults(settings)[0])
    return Fleet(
        vessels=frames["vessels"],
        items=frames["items"],
        records=frames["records"],
        periods=tables["periods"].frame,
        claims=claims.frame,
        settings=settings,
        as_of=opened.as_of,
        as_of_from=opened.as_of_from,
        defaulted=defaulted,
        given={table.name: table.given for table in (*seen, tables["periods"], claims)},
        notes=(
            *opened.raw.notes,
            *(note for table in tables.values() for note in table.notes),
            *_absent(opened.raw),
            *period_notes(tables["periods"]),
            *guess_notes(tables["vessels"]),
            *repeat_notes(seen[2], seen[1]),
            *of_claims,
            *left_out,
        ),
        source=opened.source,
    )


def check_fleet(path: Path | str, *, as_of: date | None = None, today: date | None = None) -> list[Problem]:
    """Every problem of the fleet at ``path``, in the order of its tables and rows; none for a clean fleet."""
    try:
        load_fleet(path, as_of=as_of, today=today)
    except TableError as error:
        return list(error.problems)
    return []


def check_sources(raw: RawFleet, settings: Settings, latest: date) -> list[Problem]:
    """Every problem of tables that were read already, where nothing can have been written after ``latest``."""
    _, problems = _checked(raw, bounds_of(settings, latest))
    return [*_defaults(settings)[1], *problems]


def day_seen_from(as_of: date | None, settings: Settings, today: date) -> tuple[date, str]:
    """The day a fleet is seen from, and where it came from (``as_of_from`` of Fleet)."""
    if as_of is not None:
        return as_of, "given"
    return (settings.as_of, "settings.toml") if settings.as_of else (today, "today")


def bounds_of(settings: Settings, latest: date) -> Bounds:
    """What the cells of a fleet are held against, where nothing can have been written after ``latest``."""
    rows = read_table("classes", key=("item_class",), overlay=settings.trade_folder)
    classes = tuple(row["item_class"] for row in rows)
    return Bounds(settings, latest, classes, known_causes(settings.trade_folder))


def _checked(raw: RawFleet, bounds: Bounds) -> tuple[dict[str, CheckedTable], list[Problem]]:
    tables = {
        name: check_table(raw.tables[name], read_schema(name), bounds)
        if name in raw.tables
        else empty_table(read_schema(name))
        for name in TABLES
    }
    problems = [problem for table in tables.values() for problem in table.problems]
    alone = [] if "claims" in raw.tables or raw.problems else settings_without_claims(bounds.settings)
    if "vessels" in raw.tables and tables["vessels"].frame.empty:
        problems.append(Problem(tables["vessels"].file, 0, "", "must hold at least one boat", "none"))
    problems += policy_problems(tables["vessels"])
    if not raw.problems:
        # Links are only judged between tables that could all be read: else every id would lead nowhere.
        problems += linked_problems(tables)
    order = [table.file for table in tables.values()]
    return tables, [
        *raw.problems,
        *alone,
        *sorted(problems, key=lambda problem: (order.index(problem.file), problem.row)),
    ]


def linked_problems(tables: Mapping[str, CheckedTable]) -> list[Problem]:
    """Every problem that tables have with one another, or rows of a table with other rows."""
    vessels, linked = tables["vessels"], (tables["vessels"], tables["items"], tables["records"])
    return [
        *link_problems(*linked),
        *history_problems(*linked),
        *meter_problems(*linked[1:]),
        *period_problems(vessels, tables["periods"]),
        *claim_problems(vessels, tables["claims"]),
    ]


def _defaults(settings: Settings) -> tuple[tuple[Default, ...], tuple[Problem, ...]]:
    """The season of the settings and the trade's defaults, or what is wrong with them."""
    try:
        return (*season_defaults(settings), *read_defaults(settings.trade_folder)), ()
    except TableError as error:
        return (), error.problems


def _absent(raw: RawFleet) -> list[str]:
    said = {"items": NO_ITEMS, "records": NO_RECORDS}
    return [note for name, note in said.items() if name not in raw.tables]
