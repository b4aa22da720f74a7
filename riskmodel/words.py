"""Numbers as people say them: chances as frequencies, money to two figures, no digit that is not known."""

from __future__ import annotations

import math

# Below this a chance is said to be below it, and never nought.
LEAST_SAID = 1e-4


def in_a_thousand(chance: float) -> str:
    """A chance as a number in 1,000: "420", "8", "0.43", "<0.1"; never 0."""
    number = 1000 * chance
    if number < 1000 * LEAST_SAID:
        return "<0.1"
    if number < 10:
        return f"{number:.2g}"
    # Never round what is not certain up to certain.
    return f"{min(round(number), 999)}" if chance < 1 else "1000"


def chance_or_none(chance: float) -> str:
    """The same, and "-" where there is no way for it to come about."""
    return in_a_thousand(chance) if chance > 0 else "-"


def band(chance: float, low: float, high: float) -> str:
    """A chance in 1,000 with its 90 % interval: "420 (189-708)"."""
    return f"{in_a_thousand(chance)} ({in_a_thousand(low)}-{in_a_thousand(high)})"


def about_in(chance: float) -> str:
    """A chance in words: "about 3 in 1,000", "under 1 in 10,000"."""
    if chance < LEAST_SAID:
        return "under 1 in 10,000"
    # Below what would round to ten of them.
    if chance < 0.00095:
        return f"about {max(round(10_000 * chance), 1)} in 10,000"
    if chance < 0.1:
        return f"about {max(round(1000 * chance), 1)} in 1,000"
    return f"about {min(round(100 * chance), 99)} in 100" if chance < 1 else "certain"


def limit_in(limit: float) -> str:
    """A limit as it was given, with every digit: "3 in 10,000", "2.5 in 1,000"."""
    base = 10_000 if limit < 0.001 else 1000 if limit < 0.1 else 100
    return f"{limit * base:.6g} in {base:,}"


def money(amount: float) -> str:
    """Money to two figures, with thousands marked: "1,300", "45", "2.4"; below one, "<1"."""
    if not math.isfinite(amount):
        return "-"
    if abs(amount) < 1:
        return "<1" if amount > 0 else "0"
    if abs(amount) < 10:
        return f"{amount:.2g}"
    digits = math.floor(math.log10(abs(amount))) - 1
    return f"{round(amount, -digits):,.0f}"


def price(amount: float) -> str:
    """A price in whole units, with thousands marked."""
    return f"{amount:,.0f}" if amount >= 1 else "0"


def ratio(number: float) -> str:
    """A ratio to two figures: "25", "3.1", "0.24"."""
    if number >= 10:
        return f"{number:,.0f}"
    return f"{number:.2g}" if number >= 0.01 else "<0.01"


def years(number: float) -> str:
    """An age in years: "0.4", "7.5", "23"."""
    if not math.isfinite(number):
        return "?"
    return f"{number:.1f}" if number < 10 else f"{number:.0f}"


def counted(number: int, noun: str) -> str:
    """ "1 boat", "3 boats"."""
    return f"{number:,} {noun}" + ("" if number == 1 else "s")
