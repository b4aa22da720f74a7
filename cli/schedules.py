"""Opens and reads a schedule too large to be assessed boat by boat, by this machine's processes or a cluster's."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from .progress import progress

if TYPE_CHECKING:
    from riskmodel.exposure.schedule.boats import Schedule
    from riskmodel.exposure.schedule.checked import CheckedSchedule
    from riskmodel.exposure.schedule.running import Runner
    from riskmodel.exposure.schedule.whole_book import Tell

Read = TypeVar("Read")


def read_by(
    schedule: Schedule, read: Callable[[Schedule, Runner, Tell], Read], readers: str | int | None, quiet: bool
) -> Read:
    """What ``read`` makes of a schedule, with a line on stderr that says how far it is.

    ``readers`` is the address of a cluster or a number of processes; None for as many as there are processors.
    """
    from riskmodel.exposure.schedule.on_dask import by_cluster
    from riskmodel.exposure.schedule.running import by_processes

    workers = by_cluster(readers) if isinstance(readers, str) else by_processes(readers)
    with workers as run, progress(quiet) as tell:
        return read(schedule, run, tell)


def checked_schedule(
    path: Path | None, as_of: datetime | None, processes: int | None, quiet: bool
) -> CheckedSchedule | None:
    """What a schedule holds that is too large to be loaded; None for any other fleet."""
    if path is None:
        return None
    from riskmodel.exposure.schedule.checked import check_schedule
    from riskmodel.exposure.schedule.door import is_too_large, open_schedule

    if not is_too_large(path):
        return None
    schedule = open_schedule(path, as_of=as_of.date() if as_of else None)
    return read_by(schedule, check_schedule, processes, quiet)
