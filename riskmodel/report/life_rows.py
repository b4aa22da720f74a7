"""Each recorded life beside the row it became, so that a sceptic can audit the coding."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from riskmodel.frames import each_row
from riskmodel.report.foot import heading
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk.lives import Lives
from riskmodel.words import ratio

ENDINGS = {
    "in_service": "in service, last known whole",
    "failed": "failed in service",
    "found_failed": "found failed",
    "condition": "renewed because it looked bad",
    "scheduled": "renewed, sound or as planned",
    "unknown": "renewed, reason not written",
}

# Still there, and given the time that its warning leaves it.
NEEDS_WORK = "in service, found needing work"
DATES = {
    **{"made_after": "made_from", "made_by": "made_to"},
    **{"put_in_after": "installed_from", "put_in_by": "installed_to"},
    **{"end_after": "ended_from", "end_by": "ended_to"},
}


def rows_frame(lives: Lives, item_class: str = "") -> pd.DataFrame:
    """One line a row of the fit: the life as recorded (days), and what it became (years, before surroundings).

    ``item_id, item_class, life`` (1 the first known of), ``made_from, made_to`` (only where its age counts from its
    making), ``installed_from, installed_to, ended_from, ended_to, recorded, entry, lower, upper, count, pace``: the end
    of life lies in [lower, upper], upper empty for survivors; ``pace`` is how fast its surroundings age it, the factor
    on its years in the fit. Lives that no record watched are not rows.
    """
    rows = lives.history.rows
    joined = rows.merge(_known_lives(lives.history.spans), on=["item_id", "life"], how="left")
    frame = joined[["item_id", "item_class"]].assign(life=joined["number"])
    for column, name in DATES.items():
        frame[name] = _dates(joined[column])
    needing = (joined["ending"] == "in_service") & np.isfinite(joined["upper"])
    frame["recorded"] = joined["ending"].map(ENDINGS).mask(needing, NEEDS_WORK)
    for column in ("entry", "lower", "upper", "count"):
        frame[column] = joined[column].replace(np.inf, np.nan)
    frame["pace"] = _latest_age(lives.paced.rows) / _latest_age(rows)
    chosen = frame[frame["item_class"] == item_class] if item_class else frame
    return chosen.reset_index(drop=True)


def rows_page(frame: pd.DataFrame, where: tuple[str, str, str]) -> str:
    """The rows as a table of 80 columns, or that there are none."""
    if frame.empty:
        return "\n\n".join([heading(*where), paragraph("No record has watched such a life yet.")]) + "\n"
    columns = [
        Column("Part (life)"),
        Column("As recorded"),
        Column("Watched\nfrom age", number=True),
        Column("Ended at age\n(years)", number=True),
        Column("Count", number=True),
    ]
    cells = [
        (f"{row.item_id} ({row.life})", _recorded(row), f"{row.entry:.1f}", _ended(row), ratio(row.count_))
        for row in each_row(frame.rename(columns={"count": "count_"}))
    ]
    told = (
        "Ended at age: one figure, failed then; two, at some time between; more than, still whole when last known. "
        "Parts of unknown age are spread over the ages they may have had: their counts are shares."
    )
    return "\n\n".join([heading(*where), text_table(columns, cells), paragraph(told)]) + "\n"


def _known_lives(spans: pd.DataFrame) -> pd.DataFrame:
    """Every life with its number among those known of its part, and when it was made where its age counts from that."""
    known = spans.sort_values(["item_id", "life"], kind="stable")
    known = known.assign(number=known.groupby("item_id").cumcount() + 1)
    dated = known["start_after"].notna() & (known["start_after"] != known["put_in_after"])
    made = {"made_after": known["start_after"].where(dated), "made_by": known["start_by"].where(dated)}
    columns = ["item_id", "life", "number", "made_after", "made_by"]
    return known.assign(**made)[[*columns, "put_in_after", "put_in_by", "end_after", "end_by"]]


def _latest_age(rows: pd.DataFrame) -> pd.Series:
    """The last age of each row that is above nought, whole or not."""
    return rows["upper"].where(np.isfinite(rows["upper"]), rows["lower"])


def _recorded(row: Any) -> str:
    made = f"made {_window(row.made_from, row.made_to)}, " if row.made_to else ""
    day = _window(row.installed_from, row.installed_to) if row.installed_to else "at a day unknown"
    begun = f"{made}put in {day}"
    ended = "" if row.ended_to == "" else f" {_window(row.ended_from, row.ended_to)}"
    return f"{begun}; {row.recorded}{ended}"


def _window(first: str, last: str) -> str:
    if first == last:
        return last
    return f"by {last}" if first == "" else f"{first} to {last}"


def _ended(row: Any) -> str:
    if np.isnan(row.upper):
        return f"> {row.lower:.2f}"
    return f"{row.lower:.2f}" if row.lower == row.upper else f"{row.lower:.2f}-{row.upper:.2f}"


def _dates(days: pd.Series) -> pd.Series:
    known = days.notna()
    dates = pd.Series("", index=days.index, dtype=object)
    dates[known] = days[known].astype(np.int64).to_numpy().astype("datetime64[D]").astype(str)
    return dates
