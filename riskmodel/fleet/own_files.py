"""Tells which files a fleet is read from, so that no answer is written where it would be taken for one of them."""

from __future__ import annotations

import zipfile
from pathlib import Path

from riskmodel.errors import TableError
from riskmodel.fleet.schema import TABLES
from riskmodel.fleet.settings import read_settings

SETTINGS_FILE = "settings.toml"
TABLE_ENDINGS = (".csv", ".parquet")
WORKBOOK_SUFFIX = ".xlsx"
# What a workbook of ours carries among its properties: an answer, not somebody's tables.
ANSWER_MARK = "riskmodel answer"
_PROPERTIES = "docProps/core.xml"
# Ours have some hundred bytes; a part made to swell is nobody's answer (judgement).
_MOST_PROPERTIES = 1 << 16


def part_of_fleet(path: Path, fleet: Path) -> str:
    """What a file at ``path`` would be to the fleet at ``fleet``: "a table", "the settings" ...; "" for nothing.

    A workbook that carries our mark (``is_answer_book``) or is not there yet is nothing to a fleet.
    """
    target = path.resolve()
    folder = fleet.resolve() if fleet.is_dir() else fleet.resolve().parent
    trade = _trade_folder(folder)
    if trade is not None and target.parent == trade.resolve() and target.suffix.lower() == ".csv":
        return "a trade table"
    same = [entry for entry in _entries(folder) if _is_same(target, entry)]
    if target.parent != folder and not same:
        return ""
    for name in (target.name.lower(), *(entry.name.lower() for entry in same)):
        if what := _by_name(name):
            return what
    is_book = target.suffix.lower() == WORKBOOK_SUFFIX and target.is_file()
    return "a workbook" if is_book and not is_answer_book(target) else ""


def is_answer_book(path: Path) -> bool:
    """Whether a workbook was written by us as an answer, and is therefore no fleet's table."""
    try:
        with zipfile.ZipFile(path) as book, book.open(_PROPERTIES) as part:
            return ANSWER_MARK.encode() in part.read(_MOST_PROPERTIES)
    except Exception:
        # Damage of any sort, of which its reader raises many: somebody's, and refused where it is read.
        return False


def _trade_folder(folder: Path) -> Path | None:
    try:
        return read_settings(folder).trade_folder
    except TableError:
        # Whoever reads the fleet is told so.
        return None


def _by_name(name: str) -> str:
    stem, dot, ending = name.rpartition(".")
    if name == SETTINGS_FILE:
        return "the settings"
    if stem in TABLES and f"{dot}{ending}" in TABLE_ENDINGS:
        return f"the {stem} table"
    return ""


def _entries(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []


def _is_same(target: Path, entry: Path) -> bool:
    """Whether both lead to one file, by links of either sort."""
    try:
        return target.exists() and target.samefile(entry)
    except OSError:
        return False
