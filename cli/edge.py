"""The one place where errors become messages and exit codes."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

import typer

FAULT_OF_OURS, USAGE, BAD_DATA, WITH_WARNINGS = 1, 2, 3, 4
# More problems than this are counted on the screen; the library keeps them all.
SHOWN = 200


@contextmanager
def edge(debug: bool) -> Iterator[None]:
    """Turns what the library raises into one clear message on stderr and an exit code; a traceback only in debug."""
    try:
        yield
    except (typer.Exit, typer.Abort, typer.BadParameter):
        raise
    except BrokenPipeError:
        # The reader of our output went away: nothing is wrong with the answer.
        sys.stderr.close()
        raise typer.Exit(0) from None
    except Exception as error:
        if debug:
            raise
        raise typer.Exit(_said(error)) from None


def refuse(message: str) -> typer.BadParameter:
    """A usage error (exit code 2) with this message."""
    return typer.BadParameter(message)


def _said(error: Exception) -> int:
    """Says on stderr what went wrong; returns the exit code that goes with it."""
    from riskmodel.errors import ParameterError, RiskModelError, TableError

    if isinstance(error, TableError):
        lines = [str(problem) for problem in error.problems[:SHOWN]]
        hidden = len(error.problems) - SHOWN
        typer.echo("\n".join([*lines, f"... and {hidden} more problems"] if hidden > 0 else lines), err=True)
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
