"""How long a part that has let go stays unseen: looks at intervals that see it with a chance, and visits between."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError

DAYS_A_MONTH = 365.25 / 12
# Below this the closed form loses more digits than its power series (four terms) leaves out.
_SMALL = 1e-3


@dataclass(frozen=True)
class Looks:
    """How a hidden failure comes to be seen; the fields broadcast against one another.

    A look comes ``every_months``, the first at any moment of that interval, and sees the failure with ``chance``
    (below 1). Between looks it shows itself at random, ``noticed_a_month`` times a month.
    """

    every_months: FloatArray
    chance: FloatArray
    noticed_a_month: FloatArray

    def __post_init__(self) -> None:
        not_negative("noticed_a_month", self.noticed_a_month)
        if np.any(not_negative("every_months", self.every_months) == 0):
            raise ParameterError("every_months must be above 0, got 0")
        if np.any(not_negative("chance", self.chance) >= 1):
            raise ParameterError(f"chance must be below 1, got {np.max(self.chance)}")


def still_hidden(months: FloatArray, looks: Looks) -> FloatArray:
    """P(not seen within so many months of letting go), in (0, 1].

    After k whole intervals and a fraction f of the next: (1 - p)^k (1 - f p) exp(-rate x months), the first look
    being as likely at any moment of its interval.
    """
    whole, part = _intervals(months, looks)
    seen = looks.noticed_a_month * looks.every_months * part
    hidden: FloatArray = np.exp(whole * _log_missed(looks) - seen) * (1.0 - part * looks.chance)
    return hidden


def hidden_months(months: FloatArray, looks: Looks) -> FloatArray:
    """Mean months unseen, counted up to ``months``: the integral of ``still_hidden`` from 0, in closed form.

    With no visits and without end it is the geometric mean waiting time, every_months x (1 / chance - 1/2).
    """
    whole, part = _intervals(months, looks)
    log_missed = _log_missed(looks)
    one = _within_one(np.ones_like(part), looks)
    with np.errstate(divide="ignore", invalid="ignore"):
        rounds = np.where(log_missed < 0, np.expm1(whole * log_missed) / np.expm1(log_missed), whole)
    total: FloatArray = rounds * one + np.exp(whole * log_missed) * _within_one(part, looks)
    return total


def noticing_rate(chance: FloatArray, every_days: FloatArray) -> FloatArray:
    """Times a month that visits ``every_days`` notice what each sees with ``chance`` (below 1)."""
    rate: FloatArray = -np.log1p(-chance) * DAYS_A_MONTH / every_days
    return rate


def _intervals(months: FloatArray, looks: Looks) -> tuple[FloatArray, FloatArray]:
    rounds = not_negative("months", months) / looks.every_months
    whole = np.floor(rounds)
    return whole, rounds - whole


def _log_missed(looks: Looks) -> FloatArray:
    """Log of the chance that a whole interval passes and nobody has seen it."""
    missed: FloatArray = np.log1p(-looks.chance) - looks.noticed_a_month * looks.every_months
    return missed


def _within_one(part: FloatArray, looks: Looks) -> FloatArray:
    """Mean months unseen within the first fraction of one interval: integral of (1 - f p) exp(-rate f)."""
    rate = looks.noticed_a_month * looks.every_months * part
    small = rate < _SMALL
    safe = np.where(small, 1.0, rate)
    first = np.where(small, 1 - rate / 2 + rate**2 / 6 - rate**3 / 24, -np.expm1(-safe) / safe)
    # The weight of f: (1 - (1 + x) exp(-x)) / x^2.
    second = np.where(
        small, 1 / 2 - rate / 3 + rate**2 / 8 - rate**3 / 30, (-np.expm1(-safe) / safe - np.exp(-safe)) / safe
    )
    within: FloatArray = looks.every_months * part * (first - looks.chance * part * second)
    return within
