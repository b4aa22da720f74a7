"""An explanation as a page of text: sections, each line with its value and, indented, its source."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.text import paragraph
from riskmodel.risk import Assessment
from riskmodel.risk.step import Step


def explain_page(result: Assessment, item_id: str, steps: Sequence[Step]) -> str:
    """The steps behind one part's risk, wrapped to 80 columns."""
    parts = [
        heading(
            result.fleet.source,
            str(result.horizon.as_of),
            f"{result.horizon.until} ({result.horizon.wording})",
        )
    ]
    parts.append(f"WHY {item_id} STANDS WHERE IT STANDS")
    for section, lines in groupby(steps, key=lambda step: step.section):
        parts.append(f"{section}\n" + "\n".join(_lines(step) for step in lines))
    parts += [notes_block(result.notes), cautions_block(result.trade)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _lines(step: Step) -> str:
    return paragraph(f"  {step.what}: {step.value}  [{step.source}]", indent="      ")
