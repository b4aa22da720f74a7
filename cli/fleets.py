"""Opens the fleet a command was asked about, the embedded demo when none was named."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from .edge import refuse, say

if TYPE_CHECKING:
    from riskmodel.exposure.schedule.checked import CheckedSchedule
    from riskmodel.fleet import Fleet, LeftOut
    from riskmodel.risk import Assessment, Horizon


def open_fleet(path: Path | None, as_of: datetime | None) -> Fleet:
    """The checked fleet at ``path``; raises what the library raises."""
    from dataclasses import replace
    from importlib.resources import as_file, files

    from riskmodel.fleet import load_fleet

    day = as_of.date() if as_of else None
    if path is not None:
        return load_fleet(path, as_of=day)
    with as_file(files("riskmodel.data.demo")) as demo:
        return replace(load_fleet(demo, as_of=day), source="The embedded demo fleet (invented boats)")


def open_fleet_without_bad(path: Path | None, as_of: datetime | None) -> tuple[Fleet, LeftOut]:
    """The same without boats that have a broken row, and what was left out; the demo has none."""
    from riskmodel.fleet import LeftOut, load_fleet_without_bad

    if path is None:
        return open_fleet(path, as_of), LeftOut()
    return load_fleet_without_bad(path, as_of=as_of.date() if as_of else None)


def horizon_for(fleet: Fleet, until: datetime | None, months: int | None) -> Horizon:
    """What --until or --months ask for, else the coming season."""
    from riskmodel.risk import coming_season, given_horizon, months_ahead

    if until and months:
        raise refuse("give --until or --months, not both")
    if until:
        return given_horizon(fleet.as_of, until.date())
    return months_ahead(fleet.as_of, months) if months else coming_season(fleet, fleet.as_of)


def can_draw(result: Assessment, figure: Path | None) -> bool:
    """True where a figure is asked for; where every boat is sold it is said that there is nothing to draw."""
    if figure is None:
        return False
    if result.fleet.vessels.empty:
        say("Nothing to draw: no figure was written.")
        return False
    return True


def say_which(fleet: Fleet | CheckedSchedule, path: Path | None, quiet: bool) -> None:
    """Tells on stderr which fleet is used and from which day."""
    if quiet:
        return
    if path is None:
        say("No fleet named: using the embedded demo fleet.")
    origin = {"given": "as asked", "settings.toml": "from its settings.toml", "today": "today"}[
        fleet.as_of_from
    ]
    say(f"Seen on {_day(fleet.as_of)} ({origin}).")


def _day(day: date) -> str:
    return day.isoformat()
