"""The one place where errors become messages and exit codes."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from .signals import cleaning_up

if TYPE_CHECKING:
    from riskmodel.errors import Problem

FAULT_OF_OURS, USAGE, BAD_DATA, WITH_WARNINGS = 1, 2, 3, 4
# More problems than this are counted on the screen; the library keeps them all.
SHOWN = 200


@dataclass(frozen=True)
class ProblemFile:
    """A CSV file that every problem of the tables goes to as well; ``raw`` leaves text that a spreadsheet works out."""

    path: Path
    raw: bool = False


def problem_file(path: Path | None, raw: bool) -> ProblemFile | None:
    """The file that --bad-rows asks for, if it does."""
    return None if path is None else ProblemFile(path, raw)


@contextmanager
def edge(debug: bool, bad_rows: ProblemFile | None = None) -> Iterator[None]:
    """Turns what the library raises into one clear message on stderr and an exit code; a traceback only in debug.

    Problems of tables are written to ``bad_rows`` as well, where a command offers that. A signal that ends the program
    leaves nothing behind.
    """
    with cleaning_up(), _messages(debug, bad_rows):
        yield


@contextmanager
def _messages(debug: bool, bad_rows: ProblemFile | None) -> Iterator[None]:
    try:
        yield
    except (typer.Exit, typer.Abort, typer.BadParameter):
        raise
    except BrokenPipeError:
        # The reader of our output went away: nothing is wrong with the answer. What is left to write goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise typer.Exit(0) from None
    except Exception as error:
        _file_problems(error, bad_rows)
        if debug:
            raise
        raise typer.Exit(_said(error, bad_rows)) from None


def say(text: str, nl: bool = True) -> None:
    """Says something on stderr; nothing in it can steer a screen."""
    from riskmodel.safe_text import visible_page

    typer.echo(visible_page(text), err=True, nl=nl)


def refuse(message: str) -> typer.BadParameter:
    """A usage error (exit code 2) with this message."""
    from riskmodel.safe_text import visible_page

    return typer.BadParameter(visible_page(message))


def write_bad_rows(bad_rows: ProblemFile | None, problems: Sequence[Problem]) -> None:
    """Writes problems to ``bad_rows``, only the head where there are none, and says so; nothing where none is asked."""
    if bad_rows is None:
        return
    from riskmodel.fleet import write_problems
    from riskmodel.safe_text import inert
    from riskmodel.words import counted

    text: Callable[[str], str] = str if bad_rows.raw else inert
    count = write_problems(bad_rows.path, problems, text=text)
    say(f"Wrote {bad_rows.path}: {counted(count, 'problem')}.")


def _file_problems(error: Exception, bad_rows: ProblemFile | None) -> None:
    from riskmodel.errors import TableError

    if isinstance(error, TableError):
        try:
            write_bad_rows(bad_rows, error.problems)
        except OSError as fault:
            say(_of_system(fault))


def _said(error: Exception, bad_rows: ProblemFile | None) -> int:
    """Says on stderr what went wrong; returns the exit code that goes with it."""
    from riskmodel.errors import LostWorkerError, ParameterError, RiskModelError, TableError

    if isinstance(error, TableError):
        lines = [str(problem) for problem in error.problems[:SHOWN]]
        hidden = len(error.problems) - SHOWN
        if hidden > 0:
            where = bad_rows.path if bad_rows else "all of them: riskmodel check FLEET --bad-rows FILE"
            lines.append(f"... and {hidden:,} more problems ({where})")
        say("\n".join(lines))
    elif isinstance(error, ParameterError):
        # What the tables hold is a TableError: what a function cannot use came from an argument or option.
        say(str(error))
        return USAGE
    elif isinstance(error, RiskModelError):
        say(str(error))
        return FAULT_OF_OURS if isinstance(error, LostWorkerError) else BAD_DATA
    elif isinstance(error, OSError):
        # What the tables hold is read by readers that name the file: this is a file or folder named in an option.
        say(_of_system(error))
        return USAGE
    elif isinstance(error, MemoryError):
        say("There is not enough memory for this: close other programs, or ask for fewer boats at a time.")
        return FAULT_OF_OURS
    else:
        say(f"riskmodel failed ({type(error).__name__}: {error}). Use --debug to see where.")
        return FAULT_OF_OURS
    return BAD_DATA


_REMEDIES = {
    errno.ENOSPC: "free some space there, or name a file on another disk",
    errno.EDQUOT: "free some space there, or name a file on another disk",
    errno.EFBIG: "name a file on another disk",
    errno.EROFS: "name a file in another folder",
    errno.EACCES: "ask for the right to it, or name a file in another folder",
    errno.EPERM: "ask for the right to it, or name a file in another folder",
    errno.ENAMETOOLONG: "give a shorter name",
    errno.EMFILE: "close other programs and try again",
    errno.ENFILE: "close other programs and try again",
}


def _of_system(error: OSError) -> str:
    """What the system refused, where, and what to do about it."""
    where = error.filename2 or error.filename
    what = f"{os.fsdecode(where)}: " if isinstance(where, str | bytes | os.PathLike) else ""
    remedy = _REMEDIES.get(error.errno or 0, "")
    said = f"{what}{error.strerror or error}"
    return f"{said}: {remedy}." if remedy else f"{said}."
