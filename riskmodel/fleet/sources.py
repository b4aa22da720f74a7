"""Finds the tables of a fleet on disk and reads them as they stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from riskmodel.errors import Problem, TableError
from riskmodel.files import is_folder, kind_at, readable
from riskmodel.fleet.cells import RawTable
from riskmodel.fleet.own_files import WORKBOOK_SUFFIX, is_answer_book
from riskmodel.fleet.problems import shown
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
    found = kind_at(path)
    if found == "a folder":
        return path
    if found == "a file" and path.suffix.lower() == WORKBOOK_SUFFIX:
        return path.parent
    plain = f"a {path.suffix or 'plain'} file"
    fault = {"": "no such file or folder", "a file": plain}.get(found, found)
    name = shown(path.name or path)
    raise TableError([Problem(name, 0, "", "must be a folder of tables or an .xlsx workbook", fault)])


def read_sources(path: Path, settings: Settings) -> RawFleet:
    """Every table of the fleet at ``path``, as text; a table that cannot be read leaves its problems."""
    if not is_folder(path):
        return _from_workbook(path)
    entries = _entries(path)
    files = {entry.name.lower(): entry for entry in entries}
    books = [each for each in entries if _is_book(each)]
    found = [name for name in TABLES if f"{name}.csv" in files or f"{name}.parquet" in files]
    if not found and len(books) == 1:
        return _from_workbook(books[0])
    raw = _from_files(files, settings)
    twice = _twice(entries)
    if not found and books:
        rule, names = (
            "must hold one workbook, or be given the path of one",
            ", ".join(book.name for book in books),
        )
        return RawFleet({}, (Problem(path.name, 0, "", rule, names),), ())
    notes = tuple(f"{book.name} was not read, because the folder holds tables of its own." for book in books)
    return RawFleet(raw.tables, (*twice, *raw.problems, *_no_vessels(path.name, found)), notes)


def _entries(folder: Path) -> list[Path]:
    with readable(shown(folder.name or folder), "must be a folder that can be read"):
        return sorted(folder.iterdir())


def _is_book(entry: Path) -> bool:
    # A link that leads nowhere is somebody's workbook, and refused where it is read.
    name = entry.name.lower()
    named = name.endswith(WORKBOOK_SUFFIX) and not name.startswith("~$")
    found = kind_at(entry)
    ours = named and found == "a file" and is_answer_book(entry)
    return named and not ours and found not in ("", "a folder")


def _twice(entries: list[Path]) -> list[Problem]:
    """Tables whose names differ by capitals alone: one of them would be read and the other passed by."""
    rule = "must not stand beside another"
    names = {f"{table}.{kind}" for table in TABLES for kind in ("csv", "parquet")}
    first: dict[str, Path] = {}
    problems = []
    for entry in entries:
        other = first.setdefault(entry.name.lower(), entry)
        if other is not entry and entry.name.lower() in names:
            problems.append(Problem(entry.name, 0, "", rule, other.name))
    return problems


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
