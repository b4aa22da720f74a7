"""The one place where errors become messages and exit codes."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from riskmodel.errors import Problem

FAULT_OF_OURS, USAGE, BAD_DATA, WITH_WARNINGS = 1, 2, 3, 4
# More problems than this are counted on the screen; the library keeps them all.
SHOWN = 200


@contextmanager
def edge(debug: bool, bad_rows: Path | None = None) -> Iterator[None]:
    """Turns what the library raises into one clear message on stderr and an exit code; a traceback only in debug.

    Problems of tables are written to ``bad_rows`` as well, where a command offers that.
    """
    try:
        yield
    except (typer.Exit, typer.Abort, typer.BadParameter):
        raise
    except BrokenPipeError:
        # The reader of our output went away: nothing is wrong with the answer.
        sys.stderr.close()
        raise typer.Exit(0) from None
    except Exception as error:
        _file_problems(error, bad_rows)
        if debug:
            raise
        raise typer.Exit(_said(error, bad_rows)) from None


def refuse(message: str) -> typer.BadParameter:
    """A usage error (exit code 2) with this message."""
    return typer.BadParameter(message)


def write_bad_rows(bad_rows: Path | None, problems: Sequence[Problem]) -> None:
    """Writes problems to ``bad_rows``, only the head where there are none, and says so; nothing where none is asked."""
    if bad_rows is None:
        return
    from riskmodel.fleet import write_problems
    from riskmodel.words import counted

    try:
        count = write_problems(bad_rows, problems)
    except OSError as error:
        raise refuse(f"{bad_rows} cannot be written: {error.strerror}") from None
    typer.echo(f"Wrote {bad_rows}: {counted(count, 'problem')}.", err=True)


def _file_problems(error: Exception, bad_rows: Path | None) -> None:
    from riskmodel.errors import TableError

    if isinstance(error, TableError):
        write_bad_rows(bad_rows, error.problems)


def _said(error: Exception, bad_rows: Path | None) -> int:
    """Says on stderr what went wrong; returns the exit code that goes with it."""
    from riskmodel.errors import ParameterError, RiskModelError, TableError

    if isinstance(error, TableError):
        lines = [str(problem) for problem in error.problems[:SHOWN]]
        hidden = len(error.problems) - SHOWN
        if hidden > 0:
            where = bad_rows or "all of them: riskmodel check FLEET --bad-rows FILE"
            lines.append(f"... and {hidden:,} more problems ({where})")
        typer.echo("\n".join(lines), err=True)
    elif isinstance(error, ParameterError):
        # What the tables hold is a TableError: what a function cannot use came from an argument or option.
        typer.echo(str(error), err=True)
        return USAGE
    elif isinstance(error, RiskModelError):
        typer.echo(str(error), err=True)
    else:
        typer.echo(f"riskmodel failed ({type(error).__name__}: {error}). Use --debug to see where.", err=True)
        return FAULT_OF_OURS
    return BAD_DATA
