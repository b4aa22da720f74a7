"""Best renewal ages and look intervals against the trade's, as a page of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from riskmodel.frames import each_row
from riskmodel.plan.intervals.words import every
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.trade import Trade
from riskmodel.words import years

AGES = (
    "Trade: the age at which the trade renews; -, none is published and the part goes by its condition. By money: "
    "the age at which renewals and failures together cost least over the years, with a 90 % interval for what is "
    "not known of the life; none, no age pays. Within 10 %: ages that cost at most that much more: wide, and it "
    "hardly matters when. Early, late: what half the best age and twice it cost more. Renew by: what to go by; -, "
    "the part's condition; failure, when it fails. It never passes the trade's age, nor a shorter one of the "
    "maker's, where people, the boat's floating or ageing rubber are at stake."
)
LOOKS = (
    "Trade: its looks, the middle of what is done. By money: how often looking costs least, beside renewal at the "
    "age above, or after a typical life where none is published. Rarer, oftener: what half as often and twice as "
    "often cost more. Look: what to go by; never rarer than the trade's strictest where people, the boat's "
    "floating or ageing rubber are at stake. A look is priced as work: one in passing costs less and finds less."
)


def intervals_page(
    frame: pd.DataFrame, trade: Trade, where: tuple[str, str, str], notes: Sequence[str] = ()
) -> str:
    """The table of plan.intervals_table as text; ``where`` is the fleet's name, the day seen from and looked to."""
    told = frame.assign(name=_names(frame))
    parts = [
        heading(*where),
        "INTERVALS: when to renew and how often to look, by money and by the trade",
        _ages(told),
        paragraph(AGES),
        _reasons(told, "words"),
        _looks(told),
        paragraph(LOOKS),
        _reasons(told, "look_words"),
        paragraph(
            "An interval is for parts that show nothing: what is found wanting is renewed, whatever its age."
        ),
        notes_block(notes),
        cautions_block(trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _names(frame: pd.DataFrame) -> list[str]:
    """Labels, with what tells the circumstance apart, which stands between item_class and label."""
    columns = list(frame.columns)
    by = columns[columns.index("item_class") + 1 : columns.index("label")]
    return [
        row.label + (f" ({', '.join(str(getattr(row, name)) for name in by)})" if by else "")
        for row in each_row(frame)
    ]


def _ages(frame: pd.DataFrame) -> str:
    heads = ("Trade", "By money\n(90 %)", "Within\n10 %", "Early", "Late", "Renew\nby")
    columns = [Column("Class"), *(Column(head, number=True) for head in heads)]
    cells = [
        (
            row.name,
            _published(row.trade_age),
            _best(row),
            _range(row.within_10_percent_low, row.within_10_percent_high),
            _more(row.penalty_early),
            _more(row.penalty_late),
            "failure" if np.isinf(row.advised_age) else _published(row.advised_age),
        )
        for row in each_row(frame)
    ]
    return text_table(columns, cells)


def _looks(frame: pd.DataFrame) -> str:
    heads = ("Trade", "By money", "Rarer", "Oftener", "Look")
    columns = [Column("Class"), *(Column(head, number=True) for head in heads)]
    cells = [
        (
            row.name,
            _often(row.trade_look_years),
            _often(row.best_look_interval_years),
            _more(row.look_penalty_half),
            _more(row.look_penalty_double),
            _often(row.advised_look_years),
        )
        for row in each_row(frame[frame["look_task"] != ""])
    ]
    return text_table(columns, cells)


def _reasons(frame: pd.DataFrame, column: str) -> str:
    """Each phrase once, with the classes it is said of."""
    said: dict[str, list[str]] = {}
    for row in each_row(frame):
        said.setdefault(str(getattr(row, column)), []).append(row.name)
    return "\n".join(paragraph(f"{'; '.join(names)}: {words}.", indent="  ") for words, names in said.items())


def _best(row: Any) -> str:
    if not np.isfinite(row.best_age):
        return f"none ({_age(row.best_age_low)}-)" if np.isfinite(row.best_age_low) else "none"
    return f"{years(row.best_age)} ({_range(row.best_age_low, row.best_age_high)})"


def _published(age: float) -> str:
    return "-" if np.isnan(age) else years(age)


def _range(low: float, high: float) -> str:
    return f"{_age(low)}-{_age(high) if np.isfinite(high) else ''}"


def _age(number: float) -> str:
    # Past a century an age is no age of a boat.
    return years(number) if number < 100 else "100+"


def _more(share: float) -> str:
    return "" if np.isnan(share) else f"+{100 * share:.0f} %"


def _often(interval: float) -> str:
    return every(interval) if np.isfinite(interval) else "none"
