"""Sends an answer to the screen or to a file, whole or not at all."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from .edge import WITH_WARNINGS, refuse, say
from .options import Format

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Sent:
    """Where an answer goes (the screen where ``out`` is None) and how it is written there.

    In CSV nothing is left that a spreadsheet would work out, unless ``raw``.
    """

    out: Path | None
    form: Format
    raw: bool = False


def deliver(answer: str | pd.DataFrame, sent: Sent) -> None:
    """Writes a page, or a frame as CSV or JSON, to stdout or to a file by way of a temporary one beside it."""
    from riskmodel.safe_text import visible_page

    shown = visible_page(_page_text(answer) if isinstance(answer, str) else _frame_text(answer, sent))
    out = sent.out
    if out is None:
        _to_stdout(shown)
        return
    from riskmodel.atomic_write import atomic_write

    atomic_write(out, shown.encode("utf-8"))


def say_notes(notes: Sequence[str], form: Format, quiet: bool) -> None:
    """What was assumed or left out, on stderr: a table to read holds it already, csv and json have no place for it."""
    if form is not Format.TABLE and not quiet:
        for note in notes:
            say(f"Note: {note.rstrip('.')}.")


def end(warnings: int, strict: bool) -> None:
    """Exit code 4 under --strict when something was assumed or left out."""
    if strict and warnings:
        said = "1 note" if warnings == 1 else f"{warnings} notes"
        say(f"{said} on what was assumed or left out, and --strict was given.")
        raise typer.Exit(WITH_WARNINGS)


def _page_text(page: str) -> str:
    from riskmodel.report.text import fitted

    return fitted(page)


def _frame_text(frame: pd.DataFrame, sent: Sent) -> str:
    """A frame as CSV or as a JSON list of rows; dates in ISO form, missing cells empty or null."""
    if sent.form is Format.CSV:
        safe = frame if sent.raw else _inert(frame)
        return safe.to_csv(index=False, date_format="%Y-%m-%d", lineterminator="\n")
    text = frame.to_json(orient="records", date_format="iso", date_unit="s", double_precision=12, indent=1)
    return text + "\n"


def _inert(frame: pd.DataFrame) -> pd.DataFrame:
    from riskmodel.safe_text import inert

    texts = frame.select_dtypes(include=["object", "string", "category"])
    return frame.assign(
        **{
            name: column.astype(object).map(lambda cell: inert(cell) if isinstance(cell, str) else cell)
            for name, column in texts.items()
        }
    )


def _to_stdout(text: str) -> None:
    if sys.stdout is None:
        raise refuse(
            "there is nowhere to write the answer, because standard output is closed: give --out FILE"
        )
    try:
        typer.echo(_for_terminal(text), nl=False)
    except BrokenPipeError:
        raise
    except OSError as error:
        # Else the interpreter tries once more when it ends, and says so in its own way.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise refuse(
            f"the answer cannot be written to standard output ({error.strerror}): give --out FILE"
        ) from None


def _for_terminal(text: str) -> str:
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except (UnicodeEncodeError, LookupError):
        from riskmodel.report.text import ascii_only

        return ascii_only(text)
    return text
