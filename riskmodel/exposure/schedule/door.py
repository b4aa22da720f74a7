"""Where a schedule too large to be assessed boat by boat comes in: Parquet tables in a folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.boats import ITEMS, VESSELS, Schedule, open_parquet
from riskmodel.exposure.schedule.columns import likeness_of_kinds, likeness_of_money
from riskmodel.fleet.dates import refuse_other_than_days
from riskmodel.fleet.load import bounds_of, day_seen_from
from riskmodel.fleet.settings import read_settings

# From so many boats on (at about 20 ms each one by one) a schedule is read as counts.
LARGE = 3000
# From so many on there is no other way: what a sum over kinds cannot hold is refused.
TOO_LARGE = 50_000
# Tables that tell of boats one by one.
OF_EACH = ("records", "periods", "claims")


def is_schedule(path: Path | str) -> bool:
    """Whether there are so many boats in Parquet at ``path`` that they are read as counts.

    Boats with records, periods or claims of their own are assessed one by one, up to TOO_LARGE of them.
    """
    folder = Path(path)
    if not (folder / VESSELS).is_file():
        return False
    boats = int(open_parquet(folder / VESSELS).metadata.num_rows)
    return boats > (TOO_LARGE if _of_each(folder) else LARGE)


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
        For settings that cannot be, for tables of boats one by one, and for a table that is there twice.
    """
    refuse_other_than_days(as_of=as_of, today=today)
    folder = Path(path)
    settings = read_settings(folder)
    today = today or date.today()
    day, day_from = day_seen_from(as_of, settings, today)
    _refuse_others(folder)
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


def _refuse_others(folder: Path) -> None:
    rule = f"must not stand beside more than {TOO_LARGE:,} boats, which are summed by kind"
    problems = [Problem(name, 0, "", rule, "a table of boats one by one") for name in _of_each(folder)]
    for name in (VESSELS, ITEMS):
        other = Path(name).with_suffix(".csv")
        if (folder / name).is_file() and (folder / other).is_file():
            problems.append(Problem(str(other), 0, "", "must not stand beside another", name))
    if problems:
        raise TableError(problems)


def _of_each(folder: Path) -> list[str]:
    names = [f"{table}.{kind}" for table in OF_EACH for kind in ("csv", "parquet")]
    return [name for name in names if (folder / name).is_file()]
