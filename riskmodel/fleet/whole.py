"""Puts a file's new content in the place of the old, whole or not at all."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path


def replace_whole(path: Path, content: bytes) -> None:
    """Writes beside ``path``, forces it to the disk, and renames: whenever it stops, the old file or the new.

    The file keeps its permissions and, where the system allows, its owner; where ``path`` is a link, the
    file it leads to is replaced. The caller holds the folder's lock: the temporary name is always the same,
    so that one left by a killed writer goes with the next.

    Raises OSError if the folder or the file cannot be written.
    """
    target = path.resolve()
    if target.exists() and not os.access(target, os.W_OK):
        # A rename would pass over the file's own protection.
        raise PermissionError(13, "the file is write-protected", str(target))
    partial = target.with_name(f".{target.name}.partial")
    partial.unlink(missing_ok=True)
    try:
        with open(partial, "xb") as file:
            file.write(content)
            if target.exists():
                _like(partial, target.stat())
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, target)
    finally:
        partial.unlink(missing_ok=True)
    _force_folder(target.parent)


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
