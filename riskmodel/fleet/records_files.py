"""Where a fleet's records lie, behind all links: what a writer of them has to lock and may take back from."""

from __future__ import annotations

from pathlib import Path

from riskmodel.fleet.own_files import WORKBOOK_SUFFIX
from riskmodel.fleet.sources import fleet_folder

_TABLES = ("records.csv", "records.parquet")


def records_files(path: Path) -> list[Path]:
    """The files that hold the records of the fleet at ``path`` or may be given them, links resolved.

    The records table where there is one, else the workbooks that lie there.

    Raises TableError if the path leads to no fleet.
    """
    tables, books = _tables_and_books(path)
    return tables or books


def records_folders(path: Path) -> set[Path]:
    """The folders to lock before a record is added to the fleet at ``path``."""
    tables, books = _tables_and_books(path)
    beside = set() if tables or path.is_file() else {fleet_folder(path).resolve()}
    return {file.parent for file in tables or books} | beside


def _tables_and_books(path: Path) -> tuple[list[Path], list[Path]]:
    folder = fleet_folder(path)
    if path.is_file():
        return [], [path.resolve()]
    entries = [entry for entry in sorted(folder.iterdir()) if entry.is_file()]
    tables = [entry.resolve() for entry in entries if entry.name.lower() in _TABLES]
    books = [entry for entry in entries if entry.name.lower().endswith(WORKBOOK_SUFFIX)]
    return tables, [book.resolve() for book in books if not book.name.startswith(("~$", "."))]
