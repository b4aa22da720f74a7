"""The one place that decides how wide a page is."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def as_wide_as(out: Path | None) -> Iterator[None]:
    """Pages made in the block fit where they go: a terminal, or the COLUMNS that somebody set; a file is 80 wide."""
    from riskmodel.report.text import WIDTH, pages_of_width

    with pages_of_width(WIDTH if out is not None else _columns() or WIDTH):
        yield


def _columns() -> int:
    """Characters in a line as COLUMNS says or the terminal has them; 0 where neither tells."""
    asked = os.environ.get("COLUMNS", "")
    # No terminal is wider than that: a longer word is no number of characters.
    if asked.isascii() and asked.isdigit() and len(asked) <= 9 and int(asked) > 0:
        return int(asked)
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns
    except (AttributeError, OSError, ValueError):
        # No terminal, or no standard output at all.
        return 0
