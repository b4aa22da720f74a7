"""Lets one writer at a time at a fleet's records."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from riskmodel.errors import Problem, TableError

try:
    import fcntl
except ImportError:  # only Unix has it
    fcntl = None  # type: ignore[assignment]
try:
    import msvcrt
except ImportError:  # only Windows has it
    msvcrt = None  # type: ignore[assignment]

LOCK = ".records.lock"
PATIENCE_SECONDS = 10.0
"""How long a writer waits for another; adding a record takes a fraction of a second (judgement)."""

_PAUSE_SECONDS = 0.01


@contextmanager
def only_writer(*folders: Path, patience: float = PATIENCE_SECONDS) -> Iterator[None]:
    """Holds the records in these folders for the caller alone, as long as the block runs.

    The lock is the system's, on an empty file that stays: it goes with its holder, however that ends, and
    nothing has to be deleted by hand. Folders are the real ones, behind all links.

    Raises TableError if another writer still holds one after ``patience`` seconds.
    """
    with ExitStack() as held:
        # In one order everywhere: two writers never wait for one another.
        for folder in sorted(set(folders)):
            held.enter_context(_locked(folder / LOCK, patience))
        yield


@contextmanager
def _locked(path: Path, patience: float) -> Iterator[None]:
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOINHERIT", 0)
    handle = os.open(path, flags, 0o666)
    try:
        end = time.monotonic() + patience
        while not _taken(handle):
            if time.monotonic() >= end:
                rule = f"must not be held by another writer for {patience:g} seconds: try again"
                raise TableError([Problem(path.name, 0, "", rule, "held")])
            time.sleep(_PAUSE_SECONDS)
        yield
    finally:
        # Never unlinked: a writer that waits on the old file and one that makes a new one would both go on.
        os.close(handle)


def _taken(handle: int) -> bool:
    """Whether the lock of an open file could be had at once; it is given back when the file is closed."""
    try:
        if fcntl is not None:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        else:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    except (BlockingIOError, PermissionError):
        return False
    return True
