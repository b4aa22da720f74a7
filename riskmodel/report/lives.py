"""What trade intervals and records say of each class's life, as a frame and as a page."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from riskmodel.frames import each_row
from riskmodel.life import Life, fit_life
from riskmodel.report.foot import cautions_block, heading, notes_block
from riskmodel.report.lives_taught import taught
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk.lives import Lives
from riskmodel.trade import Trade
from riskmodel.words import about_in, years


def lives_frame(lives: Lives, trade: Trade) -> pd.DataFrame:
    """One row a class, ages in years: the trade's intervals, the prior, the records, and what is now believed.

    ``age_10`` and ``age_50``: ages by which 10 % and half have let go, with 90 % intervals. ``prior_worth``: how many
    failures the prior on life weighs. ``moved_life`` and ``moved_shape``: shift by the records in prior standard
    deviations; ``conflict``: more than three. ``age_10_if_failed``: age_10 when renewals of unwritten reason are
    read as failures; NaN where there are none.
    """
    return pd.DataFrame([_row(name, lives, trade) for name in sorted(lives.posterior)])


def lives_page(lives: Lives, trade: Trade, where: tuple[str, str, str], notes: tuple[str, ...]) -> str:
    """The lives as text; ``where`` is the fleet's name, the day seen from and the day looked to."""
    frame = lives_frame(lives, trade)
    parts = [
        heading(*where),
        "LIVES: years by which parts let go, from trade intervals and your records",
        _table(frame, trade),
        paragraph(
            "Trade: the published or judged intervals that seed a life, least to greatest. Worth: how many failures "
            "that prior weighs. Seen: failures and survivors in your records (shares where an age is unknown). 10 % "
            "by: the age by which one in ten has let go, before and after your records, with a 90 % interval."
        ),
        *taught(lives, trade),
        *_conflicts(frame, trade),
        *_unwritten(frame, trade),
        paragraph(
            "Ages are years in the surroundings the trade interval presumes: where a part ages faster, fewer."
        ),
        paragraph("A longer life here is never a reason to stretch the maker's or the trade's renewal age."),
        notes_block(notes),
        cautions_block(trade),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def class_page(name: str, lives: Lives, trade: Trade, where: tuple[str, str, str]) -> str:
    """One class in full: its intervals with their sources, what the prior expects, what the records made of it."""
    seed, prior, now = lives.seeds[name], lives.prior[name], lives.posterior[name]
    item_class = trade.classes[name]
    intervals = text_table(
        [
            Column("Meaning"),
            Column("Grade"),
            Column("Years", number=True),
            Column("Source"),
            Column("Status"),
        ],
        [(r.meaning, r.grade, f"{r.low:g}-{r.high:g}", r.source, r.status) for r in seed.intervals],
    )
    mechanism = item_class.mechanism
    worth = (
        f"Mechanism: {mechanism.mechanism.replace('_', ' ')}, shape about {mechanism.shape:g} ({mechanism.status}: "
        f"{mechanism.source}). The prior is worth {prior.prior.worth_on_life:.1f} failures on life and "
        f"{prior.prior.worth_on_shape:.1f} on shape."
    )
    middle = seed.upkeep.renewal_age
    told = [_expectation("Before records", prior, middle), _expectation("After records", now, middle)]
    parts = [
        heading(*where),
        item_class.label.upper(),
        paragraph(item_class.description),
        intervals,
        paragraph(worth),
        *told,
        cautions_block(trade),
    ]
    return "\n\n".join(parts) + "\n"


def _expectation(when: str, life: Life, middle: float) -> str:
    chances = life.failure_probability(0.0, np.array([0.5, 1.0, 2.0]) * middle)
    band = life.quantile([0.05, 0.95]).age
    said = ", ".join(
        f"{about_in(float(chance))} by {years(factor * middle)} y"
        for chance, factor in zip(chances, (0.5, 1.0, 2.0), strict=True)
    )
    return paragraph(
        f"{when}: {said}; nine in ten let go between {years(band[0])} and {years(band[1])} years."
    )


def _row(name: str, lives: Lives, trade: Trade) -> dict[str, object]:
    seed, prior, now = lives.seeds[name], lives.prior[name], lives.posterior[name]
    before, after = prior.quantile([0.1, 0.5]), now.quantile([0.1, 0.5])
    return {
        "item_class": name,
        "trade_low": min(row.low for row in seed.intervals),
        "trade_high": max(row.high for row in seed.intervals),
        "trade_rows": len(seed.intervals),
        "prior_age_10": before.age[0],
        "prior_age_10_low": before.lower[0],
        "prior_age_10_high": before.upper[0],
        "prior_worth": seed.prior.worth_on_life,
        "failures": now.rows.failures,
        "survivors": now.rows.survivors,
        "age_10": after.age[0],
        "age_10_low": after.lower[0],
        "age_10_high": after.upper[0],
        "age_50": after.age[1],
        "age_50_low": after.lower[1],
        "age_50_high": after.upper[1],
        "shape": now.mode[0],
        "moved_life": now.shift[1],
        "moved_shape": now.shift[0],
        "conflict": now.conflict,
        "age_10_if_failed": _other_reading(name, lives),
    }


def _other_reading(name: str, lives: Lives) -> float:
    """Age by which 10 % let go when unwritten reasons are read as failures: the class's own change, on what is now
    believed; NaN where every reason is written."""
    rows = lives.paced.rows
    if not ((rows["item_class"] == name) & (rows["ending"] == "unknown")).any():
        return float("nan")
    prior = lives.seeds[name].prior
    sound, failed = (
        float(fit_life(read, prior).quantile(0.1).age)
        for read in (lives.paced.of_class(name), lives.paced.of_class_read_as_failed(name))
    )
    return float(lives.posterior[name].quantile(0.1).age) * failed / sound


def _table(frame: pd.DataFrame, trade: Trade) -> str:
    columns = [
        Column("Class"),
        Column("Trade", number=True),
        Column("Worth", number=True),
        Column("10 % by,\nbefore", number=True),
        Column("Seen\nfail", number=True),
        Column("Seen\nwhole", number=True),
        Column("10 % by, now\n(90 %)", number=True),
        Column("Half by\n", number=True),
    ]
    cells = [
        (
            trade.classes[str(row.item_class)].label + (" *" if row.conflict else ""),
            _range(row.trade_low, row.trade_high),
            f"{row.prior_worth:.1f}",
            years(row.prior_age_10),
            f"{row.failures:.0f}",
            f"{row.survivors:.0f}",
            f"{years(row.age_10)} ({years(row.age_10_low)}-{years(row.age_10_high)})",
            years(row.age_50),
        )
        for row in each_row(frame)
    ]
    return text_table(columns, cells)


def _range(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"


def _conflicts(frame: pd.DataFrame, trade: Trade) -> list[str]:
    return [
        paragraph(
            f"* {trade.classes[str(row.item_class)].label}: records and trade interval disagree (life moved "
            f"{row.moved_life:+.1f}, shape {row.moved_shape:+.1f} prior standard deviations). The "
            "prior was let give way, so the interval is wide. Trust neither alone: look at how the records were kept."
        )
        for row in each_row(frame[frame["conflict"]])
    ]


def _unwritten(frame: pd.DataFrame, trade: Trade) -> list[str]:
    matters = frame[frame["age_10_if_failed"] < 0.9 * frame["age_10"]]
    return [
        paragraph(
            f"{trade.classes[str(row.item_class)].label}: if the renewals whose reason nobody wrote were failures, "
            f"10 % let go by {years(row.age_10_if_failed)} years instead of {years(row.age_10)}."
        )
        for row in each_row(matters)
    ]


def unknown_class(name: str, known: Mapping[str, object]) -> str:
    """A message for a class the fleet does not carry, with the nearest it does."""
    from difflib import get_close_matches

    near = get_close_matches(name, list(known), n=1)
    hint = f"; the nearest is {near[0]}" if near else ""
    return f"item class {name} is not in this fleet{hint}"
