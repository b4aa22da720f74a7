"""The page of a fleet whose boats are all sold: one sentence in place of every list, and what its records taught."""

from __future__ import annotations

from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.text import paragraph
from riskmodel.risk import Assessment

NOTHING = "no risk of theirs is left"


def nothing_left_page(result: Assessment) -> str:
    """That no boat is left to tell of, with the notes and cautions of every page; empty where a boat is still owned."""
    if not result.fleet.vessels.empty:
        return ""
    horizon = result.horizon
    parts = [
        heading(result.fleet.source, str(horizon.as_of), f"{horizon.until} ({horizon.wording})"),
        paragraph(f"{_all(result.learned.sold)} sold by {horizon.as_of}: {NOTHING}."),
        notes_block(result.notes),
        cautions_block(result.trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _all(sold: int) -> str:
    return "The one boat of this fleet is" if sold == 1 else f"All {sold:,} boats of this fleet are"
