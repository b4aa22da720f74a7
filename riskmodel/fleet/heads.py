"""Reads the head of a table: the column names as written, folded, each once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from riskmodel.errors import Problem, TableError
from riskmodel.fleet.nearest import folded


def column_names(head: Sequence[str], file: str) -> list[str]:
    """The folded names of a head; a column without a name keeps "".

    Raises TableError if there is no head or a name stands in it twice.
    """
    names = [folded(cell) for cell in head]
    if not any(names):
        raise TableError([Problem(file, 1, "", "must open with a head that names its columns", "nothing")])
    doubles = [name for name, count in Counter(names).items() if name and count > 1]
    if doubles:
        raise TableError(
            [
                Problem(file, 1, name, "must stand in the head once", f"{names.count(name)} times")
                for name in doubles
            ]
        )
    return names
