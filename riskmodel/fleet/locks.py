"""Lets one writer at a time at a fleet's records."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from riskmodel.errors import Problem, TableError

try:
    import fcntl
except ImportError:  # only Unix has it; elsewhere the file itself is the lock
    fcntl = None  # type: ignore[assignment]

LOCK, HELD = ".records.lock", ".records.lock.held"
PATIENCE_SECONDS = 10.0
"""How long a writer waits for another; adding a record takes a fraction of a second (judgement)."""

_PAUSE_SECONDS = 0.01


@contextmanager
def only_writer(folder: Path, patience: float = PATIENCE_SECONDS) -> Iterator[None]:
    """Holds the folder's records for the caller alone, as long as the block runs.

    Where the system can lock files, the lock goes with its holder, however that ends, and the empty file
    stays; elsewhere the file is the lock, and one left behind by a crash has to be deleted by hand.

    Raises TableError if another writer still holds it after ``patience`` seconds.
    """
    with _locked_file(folder, patience) if fcntl is not None else _file_as_lock(folder, patience):
        yield


@contextmanager
def _locked_file(folder: Path, patience: float) -> Iterator[None]:
    handle = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
    try:
        for _ in _tries(folder / LOCK, patience):
            with suppress(BlockingIOError):
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
        yield
    finally:
        # Never unlinked: a writer that waits on the old file and one that makes a new one would both go on.
        os.close(handle)


@contextmanager
def _file_as_lock(folder: Path, patience: float) -> Iterator[None]:
    path = folder / HELD
    for _ in _tries(path, patience):
        # Windows says "permission denied" of a file that its holder is about to delete.
        with suppress(FileExistsError, PermissionError):
            os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
            break
    try:
        yield
    finally:
        path.unlink(missing_ok=True)


def _tries(path: Path, patience: float) -> Iterator[None]:
    """One turn at a time until patience is at its end, which is the refusal."""
    end = time.monotonic() + patience
    while True:
        yield
        if time.monotonic() >= end:
            rule = f"must not be held by another writer for {patience:g} seconds: try again"
            left = "" if fcntl is not None else ", or delete this file if nobody else is writing"
            raise TableError([Problem(path.name, 0, "", rule + left, "held")])
        time.sleep(_PAUSE_SECONDS)
