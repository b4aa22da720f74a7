"""The frozen records of end states and of the standard's severity categories and probability levels."""

from __future__ import annotations

from dataclasses import dataclass

# Days that an end state can happen on: those she is used on, those she lies afloat on, or any.
IN_USE, AFLOAT, ANY_DAY = "in_use", "afloat", "any"
DAYS_OF_HARM = (IN_USE, AFLOAT, ANY_DAY)


@dataclass(frozen=True)
class EndState:
    """What an item's letting go can come to, and its cost (money.end_state_loss).

    ``value_share``: of the boat's value lost on average where nothing but value counts; ``repair_per_metre``: repair
    by size on top; neither takes more than the boat is worth. ``repair_log_sd``: of the logarithm of single repair
    bills on one boat. ``per_metre``: salvage and clean-up, owed though the boat is given up.
    ``people_severity``: the standard's word for what it may do to people, whatever it costs. ``happens``: on which of a
    boat's days, one of DAYS_OF_HARM; ``covered_laid_up``: whether a policy covers it during a warranted lay-up.
    """

    end_state: str
    label: str
    can_kill: bool
    people_severity: str
    happens: str
    covered_laid_up: bool
    value_share_low: float
    value_share_high: float
    repair_per_metre_low: float
    repair_per_metre_high: float
    repair_log_sd: float
    per_metre_low: float
    per_metre_high: float
    currency: str
    price_year: int
    source: str
    status: str


@dataclass(frozen=True)
class SeverityCategory:
    """A severity category, 1 the worst: by the standard's own money [US dollars, never rescaled here] and by injury."""

    category: int
    word: str
    money_at_least: float
    injury: str
    source: str
    status: str


@dataclass(frozen=True)
class ProbabilityLevel:
    """A probability level, A the likeliest, and its row of the standard's matrix: a word of risk for each category.

    ``at_least``: the least chance of the level; 0 means anything above 0, None (level F) that it cannot happen.
    """

    level: str
    word: str
    at_least: float | None
    catastrophic: str
    critical: str
    marginal: str
    negligible: str
    meaning: str
    source: str
    status: str
