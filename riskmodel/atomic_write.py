"""Puts a file's new content in the place of the old, whole or not at all."""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from riskmodel.stopping import undone_at_a_stop

try:
    import fcntl
except ImportError:  # only Unix has it; elsewhere an open file cannot be deleted, which serves as well
    fcntl = None  # type: ignore[assignment]

# Of the file's own name so much stands in the temporary one, whose length has a limit too.
NAME_KEPT = 50
ENDING = ".partial"


def atomic_write(path: Path | str, content: bytes) -> None:
    """Writes ``content`` to ``path`` as ``atomic_file`` does.

    Raises OSError if the folder or the file cannot be written.
    """
    with atomic_file(path) as file:
        file.write(content)


@contextmanager
def atomic_file(path: Path | str) -> Iterator[BinaryIO]:
    """A binary file to write to, which takes the place of ``path`` when the block ends without an error.

    It is written beside ``path`` under a name nobody can foresee (``.NAME.RANDOM.partial``), forced to the disk and
    renamed: whenever this stops, there is the old file or the new. The file keeps its permissions and, where the
    system allows, its owner; where ``path`` is a link, the file it leads to is replaced. What a killed writer of the
    same file left behind is removed. A device or a pipe is written to as it is: nothing can take its place.

    Raises OSError if the folder or the file cannot be written.
    """
    target = Path(path).resolve()
    if target.exists() and not target.is_file():
        with open(target, "wb") as device:
            yield device
        return
    if target.exists() and not os.access(target, os.W_OK):
        # A rename would pass over the file's own protection.
        raise PermissionError(13, "the file is write-protected", str(target))
    remove_stale(target)
    partial = target.with_name(f".{target.name[:NAME_KEPT]}.{secrets.token_hex(8)}{ENDING}")
    with _naming(target), undone_at_a_stop(lambda: partial.unlink(missing_ok=True)):
        file = _opened(partial)
        try:
            with file:
                yield file
                _put(file, partial, target)
        finally:
            partial.unlink(missing_ok=True)
    _force_folder(target.parent)


def remove_stale(target: Path) -> None:
    """Removes what killed writers of ``target`` left beside it; a file that somebody is writing stays."""
    with suppress(OSError):
        for left in [entry for entry in os.scandir(target.parent) if _is_partial(entry.name, target.name)]:
            with suppress(OSError):
                _remove_unheld(Path(left.path))


@contextmanager
def _naming(target: Path) -> Iterator[None]:
    """What the system refuses is said of the file that was asked for, not of the temporary one or of none."""
    try:
        yield
    except OSError as error:
        if error.errno is None or not (error.filename is None or str(error.filename).endswith(ENDING)):
            raise
        raise OSError(error.errno, error.strerror, str(target)) from error


def _put(file: BinaryIO, partial: Path, target: Path) -> None:
    """Forces what was written to the disk and gives it its name."""
    if target.exists():
        _like(partial, target.stat())
    file.flush()
    os.fsync(file.fileno())
    if fcntl is None:
        # There an open file cannot be renamed.
        file.close()
    # Else while the lock is held: nobody takes it for one left behind.
    os.replace(partial, target)


def _is_partial(name: str, of: str) -> bool:
    start = f".{of[:NAME_KEPT]}."
    middle = name[len(start) : -len(ENDING)]
    return name.startswith(start) and name.endswith(ENDING) and len(middle) == 16 and middle.isalnum()


def _remove_unheld(path: Path) -> None:
    if fcntl is None:
        path.unlink(missing_ok=True)
        return
    handle = os.open(path, os.O_RDWR | os.O_CLOEXEC | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        path.unlink(missing_ok=True)
    finally:
        os.close(handle)


def _opened(partial: Path) -> BinaryIO:
    """A new file, held by its writer as long as it is open."""
    flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)
    while True:
        handle = os.open(partial, flags | getattr(os, "O_BINARY", 0), 0o666)
        if fcntl is None:
            return os.fdopen(handle, "w+b")
        fcntl.flock(handle, fcntl.LOCK_EX)
        if os.fstat(handle).st_nlink:
            return os.fdopen(handle, "w+b")
        # Another writer took it for one left behind before it was held.
        os.close(handle)


def _like(partial: Path, old: os.stat_result) -> None:
    if hasattr(os, "chown"):
        # Only the owner of the machine may give a file away; anybody else's stays their own.
        with suppress(PermissionError):
            os.chown(partial, old.st_uid, old.st_gid)
    os.chmod(partial, stat.S_IMODE(old.st_mode))


def _force_folder(folder: Path) -> None:
    """The new name is on the disk too, where a folder can be forced there."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
