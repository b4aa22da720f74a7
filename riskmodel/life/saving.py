"""Keeps lives in a plain JSON file and reads them back: the same nodes, so the same predictions to the last bit."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

import riskmodel
from riskmodel.atomic_write import atomic_write
from riskmodel.errors import ParameterError
from riskmodel.life.life import Life
from riskmodel.life.saved import Entry, life_from, read_life

FORMAT = "riskmodel-lives"
VERSION = 1


def save_lives(
    lives: Mapping[str, Life], path: str | os.PathLike[str], *, origin: str = "", notes: Sequence[str] = ()
) -> None:
    """Writes ``lives``, by class, to a JSON file at ``path``: the old file stands until the new one is whole.

    The file holds ``format``, ``format_version``, the versions of riskmodel and numpy that wrote it, ``origin`` (which
    fleet, seen when) and ``notes`` in the caller's words, and under ``lives`` for each class its ``prior``, ``rows``
    (equal rows as one with a count, in order of age), ``data_hash`` (sha256 of the rows), posterior ``nodes``,
    ``mode`` and ``settled``. Ages are in the unit of the rows. Numbers are written so that they read back to the last
    bit; JSON has no infinity, so null stands for it (an upper age not reached, a flat prior's spread).

    Raises OSError when the file cannot be written.
    """
    whole = {
        "format": FORMAT,
        "format_version": VERSION,
        "riskmodel": riskmodel.__version__,
        "numpy": np.__version__,
        "origin": origin,
        "notes": list(notes),
        "lives": {name: life_from(lives[name]) for name in sorted(lives)},
    }
    text = json.dumps(whole, indent=1, allow_nan=False, ensure_ascii=False) + "\n"
    atomic_write(Path(path), text.encode("utf-8"))


def load_lives(path: str | os.PathLike[str]) -> dict[str, Life]:
    """Lives by class from a file that ``save_lives`` wrote; they predict as they did before.

    Raises
    ------
    ParameterError
        When the file is none of ours, of a newer version, incomplete, or its rows are not those the lives were
        learned from; all that is wrong with its lives in one message.
    OSError
        When the file cannot be read.
    """
    file = Path(path)
    whole = _parsed(file)
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise ParameterError(f"{file}: must be a file of saved lives (format {FORMAT})")
    version = whole.get("format_version")
    if version != VERSION:
        hint = ": a newer riskmodel reads it" if isinstance(version, int) and version > VERSION else ""
        raise ParameterError(f"{file}: format_version must be {VERSION}, got {version!r}{hint}")
    saved = whole.get("lives")
    if not isinstance(saved, dict):
        raise ParameterError(f"{file}: lives is missing: wanted an entry a class")
    faults: list[str] = []
    lives = {name: read_life(Entry(each, f"lives.{name}", faults)) for name, each in saved.items()}
    if faults:
        raise ParameterError("\n".join(f"{file}: {fault}" for fault in faults))
    return {name: life for name, life in lives.items() if life is not None}


def _parsed(file: Path) -> Any:
    try:
        return json.loads(file.read_bytes())
    except ValueError as fault:
        raise ParameterError(f"{file}: must be a file of saved lives: it is no JSON ({fault})") from fault
