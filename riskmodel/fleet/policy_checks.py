"""Checks the days of the boats' policies: expiry after inception, insured by then, both ends of a lay-up or none."""

from __future__ import annotations

import numpy as np

from riskmodel.errors import Problem
from riskmodel.fleet.checks import CheckedTable
from riskmodel.fleet.links import flagged, half_given


def policy_problems(vessels: CheckedTable) -> list[Problem]:
    """Every policy without a day on risk, insured only after it began, and every lay-up that begins or ends nowhere."""
    return [
        *_without_a_day(vessels),
        *_begun_too_late(vessels),
        *half_given(vessels, ("lay_up_from", "lay_up_to")),
    ]


def _begun_too_late(vessels: CheckedTable) -> list[Problem]:
    since, inception = vessels.frame["insured_since"], vessels.frame["inception"]
    wrong = since > inception
    days, begins = (each[wrong].dt.strftime("%Y-%m-%d").to_numpy(dtype=object) for each in (since, inception))
    rules = np.array([f"must not lie after inception, {day}" for day in begins], dtype=object)
    return flagged(vessels, wrong, "insured_since", rules, days)


def _without_a_day(vessels: CheckedTable) -> list[Problem]:
    inception, expiry = vessels.frame["inception"], vessels.frame["expiry"]
    wrong = expiry <= inception
    begins, ends = (
        days[wrong].dt.strftime("%Y-%m-%d").to_numpy(dtype=object) for days in (inception, expiry)
    )
    rules = np.array([f"must lie after inception, {day}" for day in begins], dtype=object)
    return flagged(vessels, wrong, "expiry", rules, ends)
