"""Remembers beside a table what it was before the last record was added, and what it was made into.

The file is a line of JSON and, compressed, the stretch of old bytes that differs; it counts only while the table
is byte for byte what the record made of it. It is written before the table: a crash between the two leaves a
memory of a table that never came to be, which no table matches.
"""

from __future__ import annotations

import json
import os
import stat
import zlib
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path

from riskmodel.atomic_write import atomic_write
from riskmodel.errors import Problem, TableError

FORMAT = "riskmodel undo 1"


@dataclass(frozen=True)
class Remembered:
    """The record that was added last: the file as messages name it, the spreadsheet's row, the row as text."""

    file: str
    row: int
    line: str


def undo_file(table: Path) -> Path:
    """Where the memory of a table lies: beside the file itself, behind all links."""
    real = table.resolve()
    return real.with_name(f".{real.name}.undo")


def remember(table: Path, new: bytes, record: Remembered) -> None:
    """Writes what ``table`` is now, before its content becomes ``new``.

    Raises OSError if the folder cannot be written.
    """
    old = table.read_bytes() if table.exists() else None
    same = old or b""
    head = _alike(same, new)
    tail = _alike(same[head:][::-1], new[head:][::-1])
    told = {
        "format": FORMAT,
        **asdict(record),
        "after": sha256(new).hexdigest(),
        "before": None if old is None else sha256(old).hexdigest(),
        "head": head,
        "tail": tail,
        "length": len(same),
    }
    place = undo_file(table)
    # Nobody may read in it who may not read the table; a new file is anybody's in a folder that all may write to.
    place.unlink(missing_ok=True)
    os.close(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    if old is not None:
        os.chmod(place, stat.S_IMODE(table.stat().st_mode) | stat.S_IWUSR)
    atomic_write(
        place, json.dumps(told).encode("ascii") + b"\n" + zlib.compress(same[head : len(same) - tail])
    )


def recall(table: Path) -> tuple[Remembered, bytes | None]:
    """The record that was added last and the table's bytes before it (None: there was no table).

    Raises TableError if no record was added, or the table is no longer what it was made into.
    """
    place = undo_file(table)
    if not place.is_file():
        rule = "must hold a record that was added by `riskmodel record` and not taken back since"
        raise TableError([Problem(table.name, 0, "", rule, "none")])
    try:
        told, _, packed = place.read_bytes().partition(b"\n")
        said = json.loads(told)
        record = Remembered(str(said["file"]), int(said["row"]), str(said["line"]))
        new = table.read_bytes() if table.is_file() else b""
        if said["format"] != FORMAT or said["after"] != sha256(new).hexdigest():
            raise TableError([_changed(record)])
        return record, _before(said, new, packed)
    except (ValueError, KeyError, TypeError, zlib.error):
        rule = "must be as `riskmodel record` wrote it: take the record out by hand"
        raise TableError([Problem(place.name, 0, "", rule, "something else")]) from None


def _changed(record: Remembered) -> Problem:
    rule = f"must be as the last record left it ({record.line}): the table was changed since, take the row out by hand"
    return Problem(record.file, 0, "", rule, "another version")


def _before(said: dict[str, object], new: bytes, packed: bytes) -> bytes | None:
    if said["before"] is None:
        return None
    head, tail, length = (int(str(said[name])) for name in ("head", "tail", "length"))
    middle = zlib.decompressobj().decompress(packed, max(length - head - tail, 1))
    old = new[:head] + middle + new[len(new) - tail :]
    if sha256(old).hexdigest() != said["before"]:
        raise ValueError("the old bytes do not come back")
    return old


def _alike(one: bytes, other: bytes) -> int:
    """How many bytes both begin with."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if one[low:middle] == other[low:middle] else (low, middle - 1)
    return low
