"""Where a schedule too large to be assessed boat by boat comes in: Parquet tables in a folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.boats import ITEMS, VESSELS, Schedule
from riskmodel.exposure.schedule.columns import likeness_of_kinds, likeness_of_money
from riskmodel.exposure.schedule.stretches import open_parquet
from riskmodel.files import is_plain_file, kind_at
from riskmodel.fleet.claim_checks import settings_without_claims
from riskmodel.fleet.dates import refuse_days_beyond, refuse_other_than_days
from riskmodel.fleet.defaults import read_defaults
from riskmodel.fleet.load import bounds_of, day_seen_from
from riskmodel.fleet.schema import TABLES
from riskmodel.fleet.settings import Settings, read_settings
from riskmodel.trade import load_trade

# From so many boats on (at about 20 ms each one by one) a schedule is read as counts.
LARGE = 3000
# From so many on there is no other way: what a sum over kinds cannot hold is refused.
TOO_LARGE = 50_000
# Tables that tell of boats one by one.
OF_EACH = ("records", "periods", "claims")


def is_schedule(path: Path | str) -> bool:
    """Whether there are so many boats in Parquet at ``path`` that they are read as counts.

    Boats with records, periods or claims of their own, or with another table than ``items.parquet`` beside them, are
    assessed one by one, up to TOO_LARGE of them.

    Raises
    ------
    TableError
        Where the boats' table cannot be read.
    """
    folder = Path(path)
    if not _has_boats(folder):
        return False
    boats = int(open_parquet(folder / VESSELS).metadata.num_rows)
    return boats > (TOO_LARGE if _others(folder) else LARGE)


def is_too_large(path: Path | str) -> bool:
    """Whether there are so many boats in Parquet at ``path`` that nobody would load them to check them.

    Raises
    ------
    TableError
        Where the boats' table cannot be read.
    """
    folder = Path(path)
    if not _has_boats(folder) or _others(folder):
        return False
    return int(open_parquet(folder / VESSELS).metadata.num_rows) > TOO_LARGE


def open_schedule(
    path: Path | str,
    *,
    as_of: date | None = None,
    today: date | None = None,
    work_folder: Path | None = None,
) -> Schedule:
    """The schedule at ``path`` and what it is held against; days as in ``load_fleet``, ``work_folder`` as in Schedule.

    Raises
    ------
    TableError
        For settings, trade tables or files that cannot be, for tables of boats one by one, and for any other table that
        would not be read.
    """
    refuse_other_than_days(as_of=as_of, today=today)
    refuse_days_beyond(as_of=as_of)
    folder = Path(path)
    settings = read_settings(folder)
    today = today or date.today()
    day, day_from = day_seen_from(as_of, settings, today)
    _refuse_others(folder, settings)
    # Parts that cannot be read are no boats without parts.
    is_plain_file(folder / ITEMS)
    if settings.trade_folder is not None:
        load_trade(settings.trade_folder)
    read_defaults(settings.trade_folder)
    bounds = bounds_of(settings, max(day, today))
    return Schedule(
        folder=folder,
        bounds=bounds,
        as_of=day,
        as_of_from=day_from,
        kinds=likeness_of_kinds(),
        money=likeness_of_money(),
        source=folder.resolve().name,
        work_folder=work_folder,
    )


def _refuse_others(folder: Path, settings: Settings) -> None:
    rule = f"must not stand beside {VESSELS}, whose boats are too many to be assessed one by one"
    problems = [Problem(name, 0, "", rule, _said(name)) for name in _others(folder)]
    # Beside claims the rule above is the one to keep.
    problems = problems or settings_without_claims(settings)
    if problems:
        raise TableError(problems)


def _has_boats(folder: Path) -> bool:
    # What stands there and is no file is refused by whoever reads it as a fleet.
    return kind_at(folder / VESSELS) == "a file"


def _others(folder: Path) -> list[str]:
    """Files that hold a table, by their names, and are not read as a schedule."""
    tables = {f"{table}.{kind}" for table in TABLES for kind in ("csv", "parquet")}
    return sorted(
        entry.name
        for entry in folder.iterdir()
        if entry.name.lower() in tables and entry.name not in (VESSELS, ITEMS)
    )


def _said(name: str) -> str:
    table = Path(name.lower()).stem
    if table in OF_EACH:
        return "a table of boats one by one"
    return f"another table of {table} than {table}.parquet"
