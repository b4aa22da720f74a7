"""One renewal written down more than once, or to the month only, is one renewal: no life lies between."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

RENEWALS = ("installed", "replaced")
# Windows up to a month wide that overlap are one renewal; years that overlap may hold two (judgement).
MONTH_DAYS = 31


def after_what_was_found(events: pd.DataFrame) -> pd.DataFrame:
    """Events with each renewal dated to a window no earlier than the first defect found in that window.

    A part found failed on 14 May and renewed "in May" was renewed after it was found: else the new one would
    have failed at age 0. A part first fitted "in May" may well have failed in May.
    Needs ``item_id, event, finding, date, date_by``.
    """
    bad = events["event"].eq("failed") | events["finding"].isin(["failed", "failing"])
    renewal = events["event"].isin(RENEWALS)
    wide = events["event"].eq("replaced") & (events["date"] < events["date_by"])
    faults = events.loc[bad & ~renewal, ["item_id", "date", "date_by"]]
    if not wide.any() or faults.empty:
        return events
    windows = events.loc[wide, ["item_id", "date", "date_by"]].reset_index()
    pairs = windows.merge(faults, on="item_id", suffixes=("", "_found"))
    inside = (pairs["date_found"] >= pairs["date"]) & (pairs["date_by_found"] <= pairs["date_by"])
    first = pairs[inside].groupby("index")["date_found"].min()
    return events.assign(date=events["date"].where(~events.index.isin(first.index), first))


def joined_renewals(events: pd.DataFrame) -> pd.DataFrame:
    """Events in order, records of one renewal joined to the last of them: its window is what all allow.

    The strongest evidence of how the old part ended is kept. Needs ``item_id, event, finding, reason, date,
    date_by``, sorted by item and day.
    """
    renewals = events[events["event"].isin(RENEWALS) & events["date"].notna()]
    several = renewals[renewals["item_id"].duplicated(keep=False)]
    groups = [group for group in _groups(several) if len(group) > 1]
    if not groups:
        return events
    joined = events.copy()
    for group in groups:
        rows = events.loc[group]
        last, best = group[-1], rows.index[int(np.argmin(_weakness(rows)))]
        joined.loc[last, "date"], joined.loc[last, "date_by"] = rows["date"].max(), rows["date_by"].min()
        joined.loc[last, ["reason", "finding"]] = events.loc[best, ["reason", "finding"]]
        # What was replaced had been there, whatever else is said of the new one.
        joined.loc[last, "event"] = rows["event"].max()
    repeats = [label for group in groups for label in group[:-1]]
    return joined.drop(index=repeats).reset_index(drop=True)


def _groups(renewals: pd.DataFrame) -> Iterator[list[int]]:
    """Labels of the records of each renewal, in order."""
    days = renewals[["date", "date_by"]].to_numpy().astype("datetime64[D]").astype(int)
    group: list[int] = []
    item, window, common = "", (0, 0), (0, 0)
    for label, name, first, last in zip(renewals.index, renewals["item_id"], *days.T, strict=True):
        narrow = max(last - first, window[1] - window[0]) < MONTH_DAYS
        overlaps = narrow and first <= common[1] and last >= common[0]
        if group and name == item and ((first, last) == window or overlaps):
            group.append(label)
            common = max(first, common[0]), min(last, common[1])
        else:
            yield group
            group, item, window, common = [label], name, (first, last), (first, last)
    yield group


def _weakness(rows: pd.DataFrame) -> np.ndarray[tuple[int], np.dtype[np.int_]]:
    """How little each record says of how the old part ended: 0 it had failed, 1 it needed work, 2 other, 3 nothing."""
    reason, finding = rows["reason"], rows["finding"]
    return np.select(
        [
            reason.eq("failure") | finding.eq("failed"),
            reason.eq("condition") | finding.eq("failing"),
            reason.ne("") | finding.ne(""),
        ],
        [0, 1, 2],
        default=3,
    )
