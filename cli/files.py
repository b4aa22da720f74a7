"""Refuses files that an answer may not be written to, before any work is done."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from .edge import refuse

CALENDAR = ".ics"


def refuse_files(named: Mapping[str, Path | None], fleet: Path | None, force: bool) -> None:
    """Usage error for files by option that are there already, stand for each other, or belong to the fleet.

    Nothing is written over without --force, and a table, the settings or a workbook of the fleet that is read not even
    with it.
    """
    given = {option: path for option, path in named.items() if path is not None}
    if not given:
        return
    _refuse_kinds(given)
    resolved = [path.resolve() for path in given.values()]
    if len(set(resolved)) < len(resolved):
        raise refuse(f"{_listed(list(given))} must name different files")
    for option, path in given.items():
        if fleet is not None:
            _refuse_own(option, path, fleet)
        refuse_overwriting(path, force)


def refuse_overwriting(out: Path | None, force: bool) -> None:
    """Usage error when ``out`` is there already and --force is not given, or its folder is not there."""
    if out is None:
        return
    if not out.parent.is_dir():
        raise refuse(f"{out.parent} is not a folder")
    # A device or a pipe takes what is written to it: nothing is lost.
    if out.is_dir() or (out.is_file() and not force):
        raise refuse(f"{out} is a folder" if out.is_dir() else _there_already(out))


def _there_already(out: Path) -> str:
    return f"{out} is there already: give --force to overwrite it"


def _refuse_kinds(given: Mapping[str, Path]) -> None:
    if (figure := given.get("--figure")) is not None:
        from riskmodel.report.figure_file import figure_kind

        figure_kind(figure)
    if (calendar := given.get("--calendar")) is not None and calendar.suffix.lower() != CALENDAR:
        raise refuse(f"{calendar}: a calendar's name must end in {CALENDAR}")


def _refuse_own(option: str, path: Path, fleet: Path) -> None:
    from riskmodel.fleet.own_files import part_of_fleet

    what = part_of_fleet(path, fleet)
    if what:
        raise refuse(
            f"{option} {path} would be read as {what} of this fleet: give another name or another folder"
        )


def _listed(options: list[str]) -> str:
    return f"{', '.join(options[:-1])} and {options[-1]}"
