"""Boats that one place holds together: what lies there, and what a power cut or a lock-out would do to all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book, book_of
from riskmodel.exposure.cover import cover_of
from riskmodel.exposure.exposed import Exposure
from riskmodel.exposure.otherwise import book_otherwise, otherwise
from riskmodel.exposure.segments import segment_words
from riskmodel.fleet import Fleet
from riskmodel.risk import Assessment, Horizon
from riskmodel.risk.assess import assess_learned

SINKING = "sinking_unattended"


@dataclass(frozen=True)
class Scenario:
    """Something that befalls every boat of a place at once, for so many days from the day the fleet is seen."""

    name: str
    told: str
    days: int
    change: Callable[[Fleet], Fleet]


def without_power(fleet: Fleet) -> Fleet:
    """The fleet with no shore power anywhere: every pump on its battery at once."""
    periods = fleet.periods.assign(shore_power="no") if len(fleet.periods) else fleet.periods
    return replace(fleet, vessels=fleet.vessels.assign(shore_power=False), periods=periods)


def without_visits(fleet: Fleet) -> Fleet:
    """The fleet with nobody coming by: visits no closer together than the scenario is long."""
    days = float(UNATTENDED_DAYS)
    visited = np.maximum(fleet.vessels["checked_every_days"], days)
    own = fleet.periods["visited_every_days"].astype(float)
    periods = fleet.periods.assign(visited_every_days=own.clip(lower=days))
    return replace(fleet, vessels=fleet.vessels.assign(checked_every_days=visited), periods=periods)


# A week is as long as a small boat's battery holds a steady leak, or longer; a month without visits is a lock-out or a
# keeper's illness (both judgement). How often either comes is not said: no figure here is a chance in a year.
UNATTENDED_DAYS = 30
SCENARIOS = (
    Scenario("power_cut", "no shore power for a week", 7, without_power),
    Scenario("nobody_comes", "nobody comes for a month", UNATTENDED_DAYS, without_visits),
)


def accumulations(
    exposure: Exposure, by: str = "home_port", scenarios: tuple[Scenario, ...] = SCENARIOS
) -> pd.DataFrame:
    """The places where most value lies together.

    Returns
    -------
    DataFrame
        ``place, boats, value``, ``mean`` (the year's loss after terms); for each scenario ``NAME`` the expected loss
        after terms over its days if it befalls all boats of the place, ``NAME_usual`` without it, and ``NAME_sinkings``
        and ``NAME_sinkings_usual``, expected sinkings. Most value first.

    Raises ParameterError for a column that the vessels table does not have.
    """
    vessels = exposure.book.vessels
    words = segment_words(vessels, by, exposure.result.horizon.as_of.year)
    boats = pd.DataFrame(
        {
            "place": words.to_numpy(),
            "boats": exposure.book.count.astype(np.int64),
            "value": exposure.book.value,
        }
    )
    boats["mean"] = exposure.after.mean.sum(axis=1)
    for scenario in scenarios:
        assessed = _over(exposure.result, scenario.days)
        usual = _losses(exposure, assessed, book_of(assessed))
        other = otherwise(assessed, scenario.change(assessed.fleet))
        struck = _losses(exposure, assessed, book_otherwise(other))
        for name, (loss, sinkings) in {scenario.name: struck, f"{scenario.name}_usual": usual}.items():
            boats[name], boats[name.replace(scenario.name, f"{scenario.name}_sinkings")] = loss, sinkings
    summed = boats.groupby("place", sort=True).sum().reset_index()
    return summed.sort_values(["value", "place"], ascending=[False, True], kind="stable").reset_index(
        drop=True
    )


def _over(result: Assessment, days: int) -> Assessment:
    as_of = result.horizon.as_of
    return assess_learned(
        result.learned, Horizon(as_of, as_of + timedelta(days=days), "a scenario"), seed=result.seed
    )


def _losses(exposure: Exposure, assessed: Assessment, book: Book) -> tuple[FloatArray, FloatArray]:
    """Each row's expected loss on risk after terms, and expected sinkings insured or not (n,)."""
    book = exposure.recalibrated(book)
    without = exposure.policy.without & set(book.states)
    cover = cover_of(assessed, book.states, replace(exposure.policy, without=without))
    losses: FloatArray = book.mean_losses(cover).sum(axis=1).mean(axis=1)
    if SINKING not in book.states:
        return losses, np.zeros(book.rows)
    return losses, book.count * book.chance[:, book.states.index(SINKING)].mean(axis=1)
