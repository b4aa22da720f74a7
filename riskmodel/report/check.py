"""What `check` says: every problem on a line of its own, or what the tables hold and which defaults stand in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import pandas as pd

from riskmodel.errors import Problem
from riskmodel.exposure.schedule.checked import CheckedSchedule
from riskmodel.fleet import Fleet
from riskmodel.frames import each_row
from riskmodel.report.foot import notes_block
from riskmodel.report.text import Column, text_table
from riskmodel.words import counted


def problems_page(problems: Sequence[Problem]) -> str:
    """All problems, one a line, then a count for each rule that was broken often."""
    lines = [str(problem) for problem in problems]
    often = Counter((problem.file, problem.column, problem.rule) for problem in problems).most_common(5)
    tail = [f"{count} times: {file} {column} {rule}" for (file, column, rule), count in often if count > 3]
    total = f"{len(problems)} problem{'' if len(problems) == 1 else 's'}. Nothing was read in and nothing was written."
    return "\n".join([*lines, "", *tail, total]) + "\n"


def problems_frame(problems: Sequence[Problem]) -> pd.DataFrame:
    """One row a problem: ``file, row, column, rule, value``; empty for a clean fleet."""
    rows = [(each.file, each.row, each.column, each.rule, each.value) for each in problems]
    return pd.DataFrame(rows, columns=["file", "row", "column", "rule", "value"])


def clean_page(fleet: Fleet | CheckedSchedule) -> str:
    """What was read, what was assumed where the tables are silent, and what was left out."""
    parts = [
        f"{fleet.source}\n{', '.join(_counts(fleet))}: no problems.",
        _defaults(fleet),
        notes_block(fleet.notes),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _counts(fleet: Fleet | CheckedSchedule) -> list[str]:
    if isinstance(fleet, CheckedSchedule):
        return [counted(fleet.boats, "vessel"), counted(fleet.parts, "item"), counted(0, "record")]
    claims = [counted(len(fleet.claims), "claim")] if len(fleet.claims) else []
    tables = {"vessel": fleet.vessels, "item": fleet.items, "record": fleet.records}
    return [*(counted(len(table), name) for name, table in tables.items()), *claims]


def _defaults(fleet: Fleet | CheckedSchedule) -> str:
    if fleet.defaulted.empty:
        return ""
    columns = [
        Column("Table"),
        Column("Column"),
        Column("Default"),
        Column("Rows", number=True),
        Column("Status"),
        Column("Source"),
    ]
    rows = [
        (row.table, row.column, str(row.value), str(row.rows), row.status, row.source)
        for row in each_row(fleet.defaulted.rename(columns={"count": "rows"}))
    ]
    return "Where the tables say nothing:\n" + text_table(columns, rows)
