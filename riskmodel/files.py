"""Opens the files a keeper hands in: what is no plain file, or cannot be read, is refused by its name."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from riskmodel.errors import Problem, RiskModelError, TableError

UTF_8 = "must be saved as UTF-8 text (in a spreadsheet: save as CSV UTF-8)"

# What an operating system calls things that stand where a file could.
_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)
# A library's own words may hold half the file.
_LONGEST = 200


def is_plain_file(path: Path, file: str = "") -> bool:
    """Whether a file that can be read stands at ``path``; False only where nothing stands there.

    Raises TableError, under the name ``file`` (default: the path's own), for anything else of that name: a folder, a
    device, a pipe, or a link that leads nowhere. Taken for absent, it would take its limits and parts along.
    """
    found = kind_at(path)
    if found not in ("", "a file"):
        raise TableError([Problem(file or _name(path), 0, "", "must be a plain file", found)])
    return found == "a file"


def is_folder(path: Path) -> bool:
    """Whether a folder stands at ``path``; False for whatever else stands there, or for no path at all."""
    return kind_at(path) == "a folder"


def kind_at(path: Path) -> str:
    """What stands at ``path``, such as ``a file`` or ``a folder``; "" for nothing; else why nobody can tell."""
    try:
        mode = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return "a link that leads nowhere" if path.is_symlink() else ""
    except OSError as error:
        return error.strerror or str(error)
    except ValueError as error:
        # A path with a NUL in it.
        return str(error)
    return next((kind for holds, kind in _KINDS if holds(mode)), "a file")


def content_of(path: Path, file: str = "") -> bytes:
    """The bytes of a plain file; raises TableError, under the name ``file``, where it cannot be read."""
    name = file or _name(path)
    if not is_plain_file(path, name):
        raise TableError([Problem(name, 0, "", "must be a plain file", "nothing")])
    with readable(name, "must be a file that can be read"):
        return path.read_bytes()


def text_of(path: Path, file: str = "") -> str:
    """The text of a plain file in UTF-8, without its mark of byte order; line ends as they are.

    Raises TableError, under the name ``file``, for a file that cannot be read or has another encoding.
    """
    content = content_of(path, file)
    try:
        text = content.decode("utf-8-sig")
        # No table holds a NUL: it is what UTF-16 without its mark looks like, or a damaged disk.
        place = content.index(b"\0") if "\0" in text else -1
    except UnicodeDecodeError as error:
        place = error.start
    if place < 0:
        return text
    row, value = content[:place].count(b"\n") + 1, f"the byte 0x{content[place]:02x}"
    raise TableError([Problem(file or _name(path), row, "", UTF_8, value)])


@contextmanager
def readable(file: str, rule: str) -> Iterator[None]:
    """The guard round a reader: whatever its library raises becomes a TableError that names ``file`` and the rule."""
    try:
        yield
    except RiskModelError:
        raise
    except BaseException as error:
        # A library in another language may panic, which Python does not count among its exceptions.
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        raise TableError([Problem(file, 0, "", rule, _words_of(error))]) from None


def _words_of(error: BaseException) -> str:
    said = getattr(error, "strerror", None) or str(error)
    words = " ".join(said.split()) or type(error).__name__
    return words if len(words) <= _LONGEST else words[: _LONGEST - 3] + "..."


def _name(path: Path) -> str:
    name = path.name or str(path)
    return name if len(name) <= _LONGEST else name[: _LONGEST - 3] + "..."
