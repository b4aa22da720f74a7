"""Checks an insurer's claims and sees them from a day: boats that are there, and no more paid than was lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
from pandas import Series

from riskmodel.errors import Problem
from riskmodel.fleet.causes import OTHER
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import flagged, orphan_problems
from riskmodel.fleet.settings import Settings

CLAIMS_SETTINGS = ("claims_from", "claims_deductible")


def claim_problems(vessels: CheckedTable, claims: CheckedTable) -> list[Problem]:
    """Every claim of an unknown boat, and every one of which more was paid than was lost."""
    frame = claims.frame
    wrong = frame["paid"] > frame["gross"]
    rules = np.array([f"must not be above gross, {gross:g}" for gross in frame.loc[wrong, "gross"]])
    paid = np.array([f"{paid:g}" for paid in frame.loc[wrong, "paid"]], dtype=object)
    return [
        *orphan_problems(claims, {"vessels": vessels}),
        *flagged(claims, wrong, "paid", rules.astype(object), paid),
    ]


def settings_without_claims(settings: Settings) -> list[Problem]:
    """Every setting about claims, of a fleet without a table of them."""
    return [
        Problem("settings.toml", 0, name, "must stand beside a claims table", "no such table")
        for name in CLAIMS_SETTINGS
        if getattr(settings, name) is not None
    ]


def claims_seen_from(
    claims: CheckedTable, as_of: date, claims_from: date | None
) -> tuple[CheckedTable, tuple[str, ...]]:
    """The claims of wet systems up to ``as_of``, of the days watched, with a counted note for all others."""
    frame = claims.frame
    later = frame["loss_on"] > pd.Timestamp(as_of)
    early = frame["loss_on"] < (pd.Timestamp(claims_from) if claims_from else pd.Timestamp.min)
    other = frame["cause"].eq(OTHER) & ~later & ~early
    kept = ~(later | early | other)
    seen = frame[kept]
    again = seen.duplicated(["vessel_id", "loss_on", "cause", "gross"])
    notes = (
        *_counted(claims, later, f"left out, dated after {as_of}"),
        *_counted(claims, early, f"left out, dated before claims_from, {claims_from}"),
        *_counted(claims, other, "left out, of other causes than wet systems"),
        *_counted(claims, again, "counted though like another of the same boat, day, cause and gross"),
    )
    return replace(
        claims, frame=seen.reset_index(drop=True), given=claims.given[kept].reset_index(drop=True)
    ), notes


def _counted(claims: CheckedTable, mask: Series[bool], what: str) -> tuple[str, ...]:
    count = int(mask.sum())
    claim = "1 claim was" if count == 1 else f"{count:,} claims were"
    return (f"{claims.file}: {claim} {what}.",) if count else ()
