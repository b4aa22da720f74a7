"""Sends an answer to the screen or to a file, whole or not at all."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from .edge import WITH_WARNINGS, refuse
from .options import Format

if TYPE_CHECKING:
    import pandas as pd


def frame_text(frame: pd.DataFrame, form: Format) -> str:
    """A frame as CSV or as a JSON list of rows; dates in ISO form, missing cells empty or null."""
    if form is Format.CSV:
        return frame.to_csv(index=False, date_format="%Y-%m-%d", lineterminator="\n")
    text = frame.to_json(orient="records", date_format="iso", date_unit="s", double_precision=12, indent=1)
    return text + "\n"


def deliver(text: str, out: Path | None, force: bool) -> None:
    """Writes ``text`` to stdout, or to ``out`` by way of a temporary file beside it."""
    if out is None:
        typer.echo(_for_terminal(text), nl=False)
        return
    refuse_overwriting(out, force)
    write_whole(out, lambda path: path.write_text(text, "utf-8"))


def refuse_overwriting(out: Path | None, force: bool) -> None:
    """Usage error when ``out`` is there already and --force is not given, or its folder is not there."""
    if out is None:
        return
    if out.exists() and not force:
        raise refuse(f"{out} is there already: give --force to overwrite it")
    if not out.parent.is_dir():
        raise refuse(f"{out.parent} is not a folder")


def write_whole(out: Path, write: Callable[[Path], object]) -> None:
    """Calls ``write`` on a temporary file beside ``out`` and renames it: the old file or the new, never half."""
    partial = out.with_name(f".{out.stem}.{os.getpid()}.partial{out.suffix}")
    try:
        write(partial)
        os.replace(partial, out)
    finally:
        partial.unlink(missing_ok=True)


def say_notes(notes: Sequence[str], form: Format, quiet: bool) -> None:
    """What was assumed or left out, on stderr: a table to read holds it already, csv and json have no place for it."""
    if form is not Format.TABLE and not quiet:
        for note in notes:
            typer.echo(f"Note: {note.rstrip('.')}.", err=True)


def end(warnings: int, strict: bool) -> None:
    """Exit code 4 under --strict when something was assumed or left out."""
    if strict and warnings:
        said = "1 note" if warnings == 1 else f"{warnings} notes"
        typer.echo(f"{said} on what was assumed or left out, and --strict was given.", err=True)
        raise typer.Exit(WITH_WARNINGS)


def _for_terminal(text: str) -> str:
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except (UnicodeEncodeError, LookupError):
        from riskmodel.report.text import ascii_only

        return ascii_only(text)
    return text
