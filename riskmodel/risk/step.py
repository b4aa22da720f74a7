"""One line of an explanation."""

from __future__ import annotations

from dataclasses import dataclass

from riskmodel.words import LEAST_SAID, in_a_thousand


@dataclass(frozen=True)
class Step:
    """One line of an explanation: its section, what it is, its value in words, and where it comes from."""

    section: str
    what: str
    value: str
    source: str


def said(chance: float) -> str:
    """A chance as people say it, in 1,000."""
    return "under 0.1 in 1,000" if chance < LEAST_SAID else f"{in_a_thousand(chance)} in 1,000"
