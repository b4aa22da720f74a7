"""What an insurer's year was worked out without, boats with broken rows, and what no sum tells: parts under recall."""

from __future__ import annotations

import pandas as pd

from riskmodel.exposure.answer import Answer
from riskmodel.exposure.schedule.exposed import ScheduleExposure
from riskmodel.report.rank import currency_of
from riskmodel.report.text import paragraph
from riskmodel.words import counted, price


def left_out_notes(answer: Answer) -> tuple[str, ...]:
    """A note on what was left out; none where nothing was."""
    left, book = answer.left_out, answer.exposure.book
    if not left.problems:
        return ()
    boats = counted(left.boats + book.boats, "boat")
    value = f"{currency_of(answer.exposure.result)} {price(left.value)}"
    unread = (
        f", {left.unread:,} of them of a value that cannot be read and the others" if left.unread else ","
    )
    said = [
        f"{left.boats:,} of {boats}{unread} worth {value} (beside {price(book.severity.value.sum())} in this answer), ",
        f"for {counted(left.broken, 'broken row')} in {_tables(answer)}. A broken row takes its whole boat, ",
        "which with fewer parts or records would seem safer than it is.",
    ]
    if left.homeless:
        said.append(
            f" Of no boat of the schedule: {counted(left.homeless, 'broken row')}, so that a boat may show fewer parts "
            "than it has."
        )
    return ("".join(said),)


def recalled_block(answer: Answer) -> str:
    """How many parts of a schedule are under recall, which is no probability; empty where none is."""
    exposure = answer.exposure
    if not isinstance(exposure, ScheduleExposure) or not exposure.counted.recalled:
        return ""
    parts = counted(exposure.counted.recalled, "part")
    return paragraph(
        f"KNOWN DEFECTS: {parts} under recall. The sums below take such parts for ordinary ones of their class and "
        "age: see to them first, whatever a book says."
    )


def left_out_frame(answer: Answer) -> pd.DataFrame:
    """The same as figures, in one row, ``all``."""
    left = answer.left_out
    figures = {
        "broken_rows": left.broken,
        "boats": left.boats,
        "value": left.value,
        "boats_of_unread_value": left.unread,
        "homeless_rows": left.homeless,
        **{f"rows_{name}": count for name, count in left.rows.items()},
    }
    return pd.DataFrame([{"row": "all", **figures}])


def _tables(answer: Answer) -> str:
    return ", ".join(dict.fromkeys(problem.file for problem in answer.left_out.problems))
