"""Arguments and options that several commands share."""

from __future__ import annotations

import math
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Format(StrEnum):
    """How an answer is written."""

    TABLE = "table"
    CSV = "csv"
    JSON = "json"


DAY = ["%Y-%m-%d"]
# What a machine's own whole numbers hold: no list is longer, and no more seeds are needed.
MOST = 2**63 - 1


def finite(number: float | None) -> float | None:
    """Usage error for an infinite number or none at all: every option that takes a number calls this back."""
    if number is not None and not math.isfinite(number):
        raise typer.BadParameter(f"must be a finite number, got {number}")
    return number


FleetPath = Annotated[
    Path | None,
    typer.Argument(
        metavar="[FLEET]", help="Folder or workbook of the fleet; the embedded demo fleet when left out."
    ),
]
AsOf = Annotated[
    datetime | None, typer.Option("--as-of", formats=DAY, help="Day the fleet is seen from; today.")
]
Until = Annotated[
    datetime | None,
    typer.Option("--until", formats=DAY, help="Day the answer looks to; the coming season's end."),
]
Months = Annotated[int | None, typer.Option("--months", min=1, help="Look this many months ahead instead.")]
OutFormat = Annotated[Format, typer.Option("--format", help="table to read, csv or json to go on with.")]
Out = Annotated[
    Path | None,
    typer.Option(
        "--out",
        dir_okay=False,
        help="Write to this file instead of the screen; the end of its name must fit --format.",
    ),
]
BadRows = Annotated[
    Path | None,
    typer.Option(
        "--bad-rows", dir_okay=False, help="Write every problem of the tables to this CSV file too."
    ),
]
Raw = Annotated[
    bool,
    typer.Option(
        "--raw",
        help="In CSV leave text as it is, also what a spreadsheet would take for a formula (else an apostrophe stands "
        "before it).",
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite the file named by --out.")]
Processes = Annotated[
    int | None,
    typer.Option(
        "--processes",
        min=1,
        help="Read a schedule of millions by this many processes; one a processor when left out.",
    ),
]
Top = Annotated[int, typer.Option("--top", min=1, max=MOST, help="Rows of each list to show.")]
Seed = Annotated[
    int, typer.Option("--seed", min=0, max=MOST, help="Seed of the draws behind bands, and of nothing else.")
]
Quiet = Annotated[bool, typer.Option("--quiet", help="Nothing on stderr but errors.")]
Strict = Annotated[bool, typer.Option("--strict", help="Exit code 4 when anything was assumed or left out.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show where a fault arose.")]
