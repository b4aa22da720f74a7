"""Each recorded life beside the row it became, so that a sceptic can audit the coding."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from riskmodel.frames import each_row
from riskmodel.report.foot import heading
from riskmodel.report.text import Column, paragraph, text_table
from riskmodel.risk.lives import Lives

ENDINGS = {
    "in_service": "in service, last known whole",
    "failed": "failed in service",
    "found_failed": "found failed",
    "condition": "renewed because it looked bad",
    "scheduled": "renewed, sound or as planned",
    "unknown": "renewed, reason not written",
}


def rows_frame(lives: Lives, item_class: str = "") -> pd.DataFrame:
    """One line a row of the fit: the life as recorded (days), and what it became (years, before surroundings).

    ``item_id, item_class, life, installed_from, installed_to, ended_from, ended_to, recorded, entry, lower, upper,
    count, pace``: the end of life lies in [lower, upper], upper empty for survivors; ``pace`` is how fast its
    surroundings age it, the factor on its years in the fit. Lives that no record watched are not rows.
    """
    rows = lives.history.rows
    spans = lives.history.spans[["item_id", "life", "start_after", "start_by", "end_after", "end_by"]]
    joined = rows.merge(spans, on=["item_id", "life"], how="left")
    joined["pace"] = np.where(
        joined["lower"] > 0, lives.paced.rows["lower"] / joined["lower"].where(joined["lower"] > 0), 1.0
    )
    frame = pd.DataFrame(
        {"item_id": joined["item_id"], "item_class": joined["item_class"], "life": joined["life"] + 1}
    )
    names = {
        "start_after": "installed_from",
        "start_by": "installed_to",
        "end_after": "ended_from",
        "end_by": "ended_to",
    }
    for column, name in names.items():
        frame[name] = _dates(joined[column])
    frame["recorded"] = joined["ending"].map(ENDINGS)
    for column in ("entry", "lower", "upper", "count", "pace"):
        frame[column] = joined[column].replace(np.inf, np.nan)
    chosen = frame[frame["item_class"] == item_class] if item_class else frame
    return chosen.reset_index(drop=True)


def rows_page(frame: pd.DataFrame, where: tuple[str, str, str]) -> str:
    """The rows as a table of 80 columns."""
    columns = [
        Column("Part (life)"),
        Column("As recorded"),
        Column("Watched\nfrom age", number=True),
        Column("Ended at age\n(years)", number=True),
        Column("Count", number=True),
    ]
    cells = [
        (f"{row.item_id} ({row.life})", _recorded(row), f"{row.entry:.1f}", _ended(row), f"{row.count_:.2g}")
        for row in each_row(frame.rename(columns={"count": "count_"}))
    ]
    told = (
        "Ended at age: one figure, failed then; two, at some time between; more than, still whole when last known. "
        "Parts of unknown age are spread over the ages they may have had: their counts are shares."
    )
    return "\n\n".join([heading(*where), text_table(columns, cells), paragraph(told)]) + "\n"


def _recorded(row: Any) -> str:
    begun = (
        "put in at a day unknown"
        if row.installed_to == ""
        else f"put in {_window(row.installed_from, row.installed_to)}"
    )
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
