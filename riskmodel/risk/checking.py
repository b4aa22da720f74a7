"""Holds a fleet against its whole trade, as an assessment will: what check clears, no command refuses."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.fleet import Fleet
from riskmodel.fleet.settings import read_settings
from riskmodel.fleet.sources import fleet_folder
from riskmodel.risk.readings import read_readings
from riskmodel.trade import load_trade


def wholly_checked(load: Callable[[], Fleet], path: Path | None) -> Fleet:
    """The fleet that ``load`` reads at ``path`` (None: one that is not the keeper's).

    Raises TableError with every problem of its tables, of the trade tables its settings lay over the shipped ones, and
    of readings that the trade judges and nobody can have read.
    """
    problems = _trade_problems(path) if path is not None else ()
    try:
        fleet = load()
    except TableError as error:
        raise TableError(_once((*problems, *error.problems))) from None
    if problems:
        raise TableError(problems)
    if fleet.records["reading"].notna().any():
        read_readings(fleet, load_trade(fleet.settings.trade_folder))
    return fleet


def _trade_problems(path: Path) -> tuple[Problem, ...]:
    """What is wrong with the organisation's own trade tables; a fault of the settings is the fleet's to report."""
    try:
        overlay = read_settings(fleet_folder(path)).trade_folder
    except TableError:
        return ()
    try:
        # Where nothing is laid over, nothing can be wrong, and a check need not read it.
        if overlay is not None:
            load_trade(overlay)
    except TableError as error:
        return error.problems
    return ()


def _once(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """The fleet's door reads some of the trade tables as well, and finds the same."""
    return tuple(dict.fromkeys(problems))
