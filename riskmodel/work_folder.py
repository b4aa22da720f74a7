"""A folder for what a program writes only for itself: it goes with the program, at the latest with the next one's."""

from __future__ import annotations

import os
import re
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path

from riskmodel.stopping import stops_wait, undone_at_a_stop

try:
    import fcntl
except ImportError:  # only Unix has it; elsewhere an open file cannot be deleted, which serves as well
    fcntl = None  # type: ignore[assignment]

# Open, and where the system allows locked, as long as the folder is in use.
HELD = ".held"
_NAME = re.compile(r"riskmodel-[0-9a-f]{16}\.work")


@contextmanager
def work_folder(where: Path | None = None) -> Iterator[Path]:
    """A new folder in ``where`` (the system's folder for such things), nobody else's, that is gone after the block.

    Folders that killed programs left in the same place are removed first.

    Raises OSError if the folder cannot be made.
    """
    with stops_wait():
        # The first to ask has a file written there, to see whether that can be done.
        place = Path(where or tempfile.gettempdir())
    remove_stale_folders(place)
    folder = place / f"riskmodel-{secrets.token_hex(8)}.work"
    with undone_at_a_stop(partial(_remove, folder)):
        handle = _held(folder)
        try:
            yield folder
        finally:
            os.close(handle)
            _remove(folder)


def remove_stale_folders(place: Path) -> None:
    """Removes what programs that were killed left in ``place``; a folder that somebody works in stays."""
    with suppress(OSError):
        for entry in list(os.scandir(place)):
            with suppress(OSError):
                if _NAME.fullmatch(entry.name) and _is_own(entry):
                    _remove_unheld(Path(entry.path))


def _is_own(entry: os.DirEntry[str]) -> bool:
    """A folder of the user's own, no link to one: what lies in a place that all may write to may be a trap."""
    owner = entry.stat(follow_symlinks=False).st_uid
    return entry.is_dir(follow_symlinks=False) and (not hasattr(os, "getuid") or owner == os.getuid())


def _held(folder: Path) -> int:
    """Makes the folder and holds it."""
    while True:
        with suppress(FileExistsError):
            folder.mkdir(0o700)
        try:
            handle = os.open(folder / HELD, os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o600)
        except FileNotFoundError:
            # Another program took it for one left behind before it was held.
            continue
        if fcntl is not None:
            # A disk without locks: what a killed program leaves there stays.
            with suppress(OSError):
                fcntl.flock(handle, fcntl.LOCK_EX)
            if not os.fstat(handle).st_nlink:
                os.close(handle)
                continue
        return handle


def _remove_unheld(folder: Path) -> None:
    try:
        handle = os.open(
            folder / HELD, os.O_RDWR | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)
        )
    except FileNotFoundError:
        # Made this moment, or all but removed: only an empty folder goes, and its maker makes it anew.
        folder.rmdir()
        return
    try:
        if fcntl is not None:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            _remove(folder)
    finally:
        os.close(handle)
    if fcntl is None:
        (folder / HELD).unlink()
        _remove(folder)


def _remove(folder: Path) -> None:
    """Removes the folder, last what tells that somebody held it: what is half removed can still be told from new."""
    with suppress(OSError):
        for entry in list(os.scandir(folder)):
            if entry.is_dir(follow_symlinks=False):
                shutil.rmtree(entry.path, ignore_errors=True)
            elif entry.name != HELD:
                with suppress(OSError):
                    os.unlink(entry.path)
        with suppress(FileNotFoundError):
            (folder / HELD).unlink()
        folder.rmdir()
