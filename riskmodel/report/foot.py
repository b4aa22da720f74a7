"""What stands at the head and foot of every report: what was asked, what was assumed, and the cautions."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.report.text import paragraph
from riskmodel.trade import Trade


def heading(source: str, as_of: str, until: str) -> str:
    """One line on which fleet, from when to when."""
    return paragraph(f"{source}, seen on {as_of}, up to {until}.")


def notes_block(notes: Sequence[str]) -> str:
    """What was assumed or left out, a line each; empty for nothing."""
    return "\n".join(paragraph(f"Note: {note.rstrip('.')}.", indent="      ") for note in notes)


def cautions_block(trade: Trade) -> str:
    """The cautions under every report."""
    lines = [caution.text for caution in trade.cautions if caution.topic == "foot"]
    return "\n".join(paragraph(line, indent="  ") for line in lines)
