"""Finds the tables of a fleet on disk and reads them as they stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.cells import RawTable
from riskmodel.fleet.own_files import WORKBOOK_SUFFIX, is_answer_book
from riskmodel.fleet.reading import read_csv, read_parquet
from riskmodel.fleet.schema import TABLES
from riskmodel.fleet.settings import Settings
from riskmodel.fleet.workbook import read_workbook


@dataclass(frozen=True)
class RawFleet:
    """The tables that could be read, the problems of those that could not, and what was passed by."""

    tables: Mapping[str, RawTable]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]


def fleet_folder(path: Path) -> Path:
    """The folder a fleet lies in: the path itself, or the folder of the workbook it leads to.

    Raises TableError if the path leads to neither.
    """
    if path.is_dir():
        return path
    if path.is_file() and path.suffix.lower() == WORKBOOK_SUFFIX:
        return path.parent
    fault = "no such file or folder" if not path.exists() else f"a {path.suffix or 'plain'} file"
    raise TableError(
        [Problem(path.name or str(path), 0, "", "must be a folder of tables or an .xlsx workbook", fault)]
    )


def read_sources(path: Path, settings: Settings) -> RawFleet:
    """Every table of the fleet at ``path``, as text; a table that cannot be read leaves its problems."""
    if path.is_file():
        return _from_workbook(path)
    files = {entry.name.lower(): entry for entry in sorted(path.iterdir()) if entry.is_file()}
    books = [
        file
        for name, file in files.items()
        if name.endswith(WORKBOOK_SUFFIX) and not name.startswith("~$") and not is_answer_book(file)
    ]
    found = [name for name in TABLES if f"{name}.csv" in files or f"{name}.parquet" in files]
    if not found and len(books) == 1:
        return _from_workbook(books[0])
    raw = _from_files(files, settings)
    if not found and books:
        rule, names = (
            "must hold one workbook, or be given the path of one",
            ", ".join(book.name for book in books),
        )
        return RawFleet({}, (Problem(path.name, 0, "", rule, names),), ())
    notes = tuple(f"{book.name} was not read, because the folder holds tables of its own." for book in books)
    return RawFleet(raw.tables, (*raw.problems, *_no_vessels(path.name, found)), notes)


def _from_workbook(path: Path) -> RawFleet:
    try:
        tables = read_workbook(path)
    except TableError as error:
        return RawFleet({}, error.problems, ())
    return RawFleet(tables, tuple(_no_vessels(path.name, list(tables))), ())


def _no_vessels(file: str, found: list[str]) -> list[Problem]:
    return (
        []
        if "vessels" in found
        else [Problem(file, 0, "", "must hold a vessels table", ", ".join(found) or "none")]
    )


def _from_files(files: Mapping[str, Path], settings: Settings) -> RawFleet:
    tables: dict[str, RawTable] = {}
    problems: list[Problem] = []
    for name in TABLES:
        readers: list[tuple[Path, Callable[[], RawTable]]] = []
        if (text := files.get(f"{name}.csv")) is not None:
            readers.append((text, lambda path=text: read_csv(path, settings)))  # type: ignore[misc]
        if (typed := files.get(f"{name}.parquet")) is not None:
            readers.append((typed, lambda path=typed: read_parquet(path)))  # type: ignore[misc]
        if len(readers) > 1:
            problems.append(
                Problem(readers[0][0].name, 0, "", "must not stand beside another", readers[1][0].name)
            )
            continue
        for _, read in readers:
            try:
                tables[name] = read()
            except TableError as error:
                problems.extend(error.problems)
    return RawFleet(tables, tuple(problems), ())
