"""riskmodel begin: where do I start? A starter workbook and a sheet to walk round the boat with."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from .edge import edge, refuse, say
from .options import Debug, Quiet, finite
from .width import as_wide_as

BOOK, SHEET = "fleet.xlsx", "walk-round.html"


def begin(
    folder: Annotated[Path, typer.Argument(help="Folder for the new fleet; made if it is not there.")],
    propulsion: Annotated[
        str, typer.Option("--propulsion", help="Kind of boat, such as sterndrive or sail_shaft.")
    ],
    length_m: Annotated[
        float, typer.Option("--length-m", callback=finite, help="Length of the hull in metres.")
    ],
    built: Annotated[int, typer.Option("--built", help="Year the hull was built.")],
    value: Annotated[
        float | None,
        typer.Option(
            "--value", callback=finite, help="What a total loss would cost; a rough guess when left out."
        ),
    ] = None,
    name: Annotated[str, typer.Option("--name", help="The boat's name.")] = "",
    force: Annotated[bool, typer.Option("--force", help=f"Overwrite {BOOK} and {SHEET}.")] = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Where do I start? A starter workbook with the typical outfit, and a walk-round sheet to print."""
    with edge(debug), as_wide_as(None):
        from dataclasses import replace
        from datetime import date

        from riskmodel.errors import ParameterError
        from riskmodel.fleet.settings import read_settings
        from riskmodel.report.starter import Boat, check_boat, starter_parts
        from riskmodel.report.starter_book import starter_workbook
        from riskmodel.report.walk_round import walk_round_page
        from riskmodel.risk.prices import priced_trade
        from riskmodel.trade import guessed_value

        stated = Boat(propulsion, length_m, built, 1.0 if value is None else value, name.strip())
        try:
            check_boat(stated, date.today())
        except ParameterError as error:
            raise refuse(str(error)) from None
        _refuse_folder(folder, force)
        trade = priced_trade(read_settings(folder))
        guess = guessed_value(trade.propulsions[propulsion], length_m, date.today().year - built)
        boat = stated if value is not None else replace(stated, value=guess, guessed_value=guess)
        parts = starter_parts(boat, trade)
        book, page = starter_workbook(boat, parts, trade), walk_round_page(boat, parts, trade)
        _write(folder, book, page)
        if not quiet:
            perhaps = [trade.classes[each].label for each in parts.perhaps]
            say(_said(folder, len(parts.items), perhaps))
            if value is None:
                say(
                    f"Its value is our rough guess, {guess:,.0f}, and the pages say so until you put your own in "
                    "the workbook."
                )


def _refuse_folder(folder: Path, force: bool) -> None:
    """Usage error where files would be lost, or where another fleet in the folder would be read instead."""
    from riskmodel.files import kind_at
    from riskmodel.fleet.schema import TABLES

    found = kind_at(folder)
    if found not in ("", "a folder"):
        raise refuse(f"{folder} is {found}: give the name of a folder")
    there = [name for name in (BOOK, SHEET) if (folder / name).exists()]
    if there and not force:
        raise refuse(f"{folder} holds {' and '.join(there)} already: give --force to overwrite")
    tables = {f"{table}.{kind}" for table in TABLES for kind in ("csv", "parquet")}
    entries = sorted(folder.iterdir()) if folder.is_dir() else []
    others = [path.name for path in entries if _is_other_fleet(path.name.lower(), tables)]
    if others:
        raise refuse(f"{folder} holds a fleet of its own ({', '.join(others)}): begin in another folder")


def _is_other_fleet(name: str, tables: set[str]) -> bool:
    return name in tables or (name.endswith(".xlsx") and name != BOOK and not name.startswith(("~$", ".")))


def _write(folder: Path, book: bytes, page: str) -> None:
    """Both files, the workbook last: where it stands, the sheet stands too."""
    from riskmodel.atomic_write import atomic_write

    try:
        folder.mkdir(parents=True, exist_ok=True)
        atomic_write(folder / SHEET, page.encode("utf-8"))
        atomic_write(folder / BOOK, book)
    except OSError as error:
        raise refuse(f"{folder} cannot be written to: {error.strerror}") from None


def _said(folder: Path, rows: int, perhaps: list[str]) -> str:
    from riskmodel.report.text import paragraph

    lines = [
        f"Wrote {folder / BOOK}: one boat and {rows} rows of the parts it usually carries, no dates yet.",
        f"Wrote {folder / SHEET}: print it and fill it in aboard.",
    ]
    if perhaps:
        lines.append(paragraph(f"Perhaps also aboard (add a row if so): {'; '.join(perhaps)}."))
    lines.append(f"Then: riskmodel rank {shlex.quote(str(folder))}")
    return "\n".join(lines)
