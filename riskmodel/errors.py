"""The errors this library raises: one tree, every message naming the thing, what came and what was wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from riskmodel.safe_text import visible


class RiskModelError(Exception):
    """Anything this library refuses; only the command line's edge catches it."""


class ParameterError(RiskModelError):
    """A value handed to a function that the function cannot use."""


class LostWorkerError(RiskModelError):
    """A process that worked for this one was ended before it had answered; ``how`` it ended.

    No fault of the tables or the options, and nothing is wrong with what is there: it may be tried again.
    """

    def __init__(self, how: str) -> None:
        self.how = how
        super().__init__(how)

    def __str__(self) -> str:
        return (
            f"One of the processes that read the schedule ended before its time ({self.how}), most often because "
            "memory ran out. Close other programs and try again, or read with one process: --processes 1."
        )


@dataclass(frozen=True)
class Problem:
    """One broken rule in a table: where it stands, what came, and what was wanted.

    ``row`` is numbered as a spreadsheet numbers it (the head is row 1); 0 means the table as a whole.
    """

    file: str
    row: int
    column: str
    rule: str
    value: str

    def __str__(self) -> str:
        place = self.file if self.row == 0 else f"{self.file} row {self.row}"
        column = f" {self.column}" if self.column else ""
        # A file's name and a cell's text are a stranger's: nothing of them may steer a screen.
        return visible(f"{place}:{column} {self.rule}, got {self.value}")


class TableError(RiskModelError):
    """Tables that break their rules; ``problems`` holds every one found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        # Only when somebody reads it: a large schedule may have a problem in every row.
        return "\n".join(str(problem) for problem in self.problems)
