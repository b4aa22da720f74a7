"""Splits each part's records into lives: from one renewal to the next, and how each life ended."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.life.renewals import RENEWALS, after_what_was_found, joined_renewals

LOOKS = ("inspected", "tested", "adjusted")
# Within a day: what was found comes before the renewal that answers it.
ORDER_IN_DAY = {"failed": 0, "inspected": 1, "tested": 1, "adjusted": 2, "replaced": 3, "installed": 4}


def life_spans(fleet: Fleet) -> pd.DataFrame:
    """One row a life of a part, the one in service last.

    Columns: ``item_id, vessel_id, item_class, life`` (0 first), ``start_after, start_by`` (window of
    installation, NaT unknown), ``end_after, end_by`` (NaT while in service), ``ending`` (in_service, failed,
    found_failed, condition, scheduled, unknown), ``seen_on`` (last record of it), ``sound_on`` (last sound
    look or passed test), ``passed_on`` (the same but for glances), ``found`` and ``found_on`` (latest
    finding), ``failing_on`` (first finding of
    needing work).
    """
    events = _events(fleet)
    spans = _spans(fleet, events).set_index(["item_id", "life"])
    spans = spans.join(_facts(events)).reset_index()
    spans["ending"] = _endings(spans)
    failed = spans["ending"].isin(["failed", "found_failed"]) & spans["broke_on"].notna()
    for end, broke in (("end_after", "broke_on"), ("end_by", "broke_by")):
        spans[end] = spans[end].where(~failed, spans[broke])
    return spans.drop(columns=["broke_on", "broke_by", "broke_found", "close_reason", "close_finding"])


def _events(fleet: Fleet) -> pd.DataFrame:
    """Records about parts, with a record of installation for every known installation window, in order."""
    columns = ["item_id", "date", "date_by", "event", "finding", "thoroughness", "reason", "source_row"]
    records = fleet.records.loc[fleet.records["item_id"] != "", columns]
    items = fleet.items
    known = items.loc[items["installed_by"].notna() | items["installed_after"].notna()]
    latest = known["installed_by"].fillna(pd.Timestamp(fleet.as_of))
    # Half-open windows keep their open end; an unknown beginning is NaT and sorts by the end.
    added = pd.DataFrame({"item_id": known["item_id"], "date": known["installed_after"], "date_by": latest})
    added = added.assign(event="installed", finding="", thoroughness="", reason="", source_row=0)
    added = added[~_already_recorded(added, records)]
    events = after_what_was_found(pd.concat([records, added], ignore_index=True))
    events["place"] = events["event"].map(ORDER_IN_DAY)
    events["day"] = events["date"].fillna(events["date_by"])
    events = events.sort_values(["item_id", "day", "place", "source_row"], kind="stable", ignore_index=True)
    events = joined_renewals(events)
    renewal = events["event"].isin(RENEWALS).astype(int)
    events["life"] = renewal.groupby(events["item_id"]).cumsum() - renewal
    return events


def _already_recorded(added: pd.DataFrame, records: pd.DataFrame) -> pd.Series:
    """True for installation windows that overlap a recorded renewal of the same part."""
    renewals = records.loc[records["event"].isin(RENEWALS), ["item_id", "date", "date_by"]]
    pairs = added.reset_index().merge(renewals, on="item_id", suffixes=("", "_there"))
    begun = pairs["date"].isna() | (pairs["date"] <= pairs["date_by_there"])
    overlap = (pairs["date_there"] <= pairs["date_by"]) & begun
    return pd.Series(added.index.isin(pairs.loc[overlap, "index"]), index=added.index)


def _spans(fleet: Fleet, events: pd.DataFrame) -> pd.DataFrame:
    """Lives of every part, from the renewals between them."""
    items = fleet.items[["item_id", "vessel_id", "item_class"]]
    renewals = events.loc[
        events["event"].isin(RENEWALS), ["item_id", "life", "date", "date_by", "reason", "finding"]
    ]
    starts = renewals.assign(life=renewals["life"] + 1)[["item_id", "life", "date", "date_by"]]
    starts = starts.rename(columns={"date": "start_after", "date_by": "start_by"})
    first = pd.DataFrame({"item_id": items["item_id"], "life": 0})
    lives = pd.concat([first, starts], ignore_index=True)
    ends = renewals.rename(
        columns={
            "date": "end_after",
            "date_by": "end_by",
            "reason": "close_reason",
            "finding": "close_finding",
        }
    )
    lives = lives.merge(ends, on=["item_id", "life"], how="left").merge(items, on="item_id")
    lives[["start_after", "start_by"]] = lives[["start_after", "start_by"]].astype("datetime64[ns]")
    watched = events.loc[~_bare_start(events), ["item_id", "life"]].drop_duplicates()
    seen = (
        lives.merge(watched, on=["item_id", "life"], how="left", indicator=True)["_merge"]
        .eq("both")
        .to_numpy()
    )
    # A first life that holds nothing but the installation that ended it was never there.
    return lives[seen | (lives["life"] > 0) | lives["end_by"].isna()]


def _bare_start(events: pd.DataFrame) -> pd.Series:
    return (events["event"] == "installed") & (events["life"] == 0)


def _facts(events: pd.DataFrame) -> pd.DataFrame:
    """What the records inside each life say of it."""
    key = ["item_id", "life"]
    looks = events[events["event"].isin(LOOKS)]
    good = looks[looks["finding"] == "sound"]
    sound = good.groupby(key)["date"].max().rename("sound_on")
    # What fails unseen is not known to work by a glance: it was tested, or at least taken in hand.
    proved = good[(good["event"] == "tested") | good["thoroughness"].isin(["handled", "opened"])]
    passed = proved.groupby(key)["date"].max().rename("passed_on")
    seen = events[~events["event"].isin(RENEWALS)].groupby(key)["date"].max().rename("seen_on")
    told = events[
        (events["finding"] != "") & (events["finding"] != "unknown") | (events["event"] == "failed")
    ]
    told = told.assign(found=told["finding"].where(told["event"] != "failed", "failed"))
    latest = told[~told["event"].isin(RENEWALS)].groupby(key)[["found", "date"]].last()
    latest = latest.rename(columns={"date": "found_on"})
    failing = told[told["found"] == "failing"].groupby(key)["date"].min().rename("failing_on")
    broke = told[(told["found"] == "failed") & (told["event"] != "replaced")].groupby(key).first()
    broke = broke[["date", "date_by"]].rename(columns={"date": "broke_on", "date_by": "broke_by"})
    how = told[(told["found"] == "failed") & (told["event"] != "replaced")].groupby(key)["event"].first()
    broke["broke_found"] = how.isin(LOOKS)
    return pd.concat([sound, passed, seen, latest, failing, broke], axis=1)


def _endings(spans: pd.DataFrame) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
    """How each life ended, the plainest evidence first."""
    closed = spans["end_by"].notna()
    reason, finding = spans["close_reason"].fillna(""), spans["close_finding"].fillna("")
    broke = spans["broke_on"].notna()
    found = broke & spans["broke_found"].eq(True)
    return np.select(
        [
            broke & ~found,
            found | (closed & ((reason == "failure") | (finding == "failed"))),
            closed & ((reason == "condition") | (finding == "failing") | spans["failing_on"].notna()),
            closed & ((reason != "") | (finding == "sound")),
            closed,
        ],
        ["failed", "found_failed", "condition", "scheduled", "unknown"],
        default="in_service",
    ).astype(object)
