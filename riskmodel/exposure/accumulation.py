"""Boats that one place holds together: what lies there, and what a power cut or a lock-out would do to all."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book, book_of, book_otherwise
from riskmodel.exposure.cover import cover_of
from riskmodel.exposure.exposed import Exposure
from riskmodel.exposure.otherwise import otherwise
from riskmodel.exposure.places import PLACE
from riskmodel.exposure.segments import segment_words
from riskmodel.exposure.spells import Scenario, scenarios_of
from riskmodel.risk import Assessment, Horizon
from riskmodel.risk.assess import assess_by_draws

SINKING = "sinking_unattended"


def accumulations(
    exposure: Exposure, by: str = PLACE, scenarios: tuple[Scenario, ...] | None = None
) -> pd.DataFrame:
    """The places where most value lies together; ``scenarios`` are those of the trade's table unless given.

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
    for scenario in scenarios_of(exposure.result.trade) if scenarios is None else scenarios:
        assessed = _over(exposure.result, scenario.days)
        # What claims say goes draw by draw with the doubt that they were held against: a book without it would be off.
        usual = _losses(exposure, assessed, book_of(assessed, exposure.doubt))
        other = otherwise(assessed, scenario.change(assessed.fleet))
        struck = _losses(exposure, assessed, book_otherwise(other, exposure.doubt))
        for name, (loss, sinkings) in {scenario.name: struck, f"{scenario.name}_usual": usual}.items():
            boats[name], boats[name.replace(scenario.name, f"{scenario.name}_sinkings")] = loss, sinkings
    summed = boats.groupby("place", sort=True).sum().reset_index()
    return summed.sort_values(["value", "place"], ascending=[False, True], kind="stable").reset_index(
        drop=True
    )


def _over(result: Assessment, days: float) -> Assessment:
    as_of = result.horizon.as_of
    until = as_of + timedelta(days=max(round(days), 1))
    return assess_by_draws(result.learned, Horizon(as_of, until, "a scenario"), result.seed)


def _losses(exposure: Exposure, assessed: Assessment, book: Book) -> tuple[FloatArray, FloatArray]:
    """Each row's expected loss on risk after terms, and expected sinkings insured or not (n,)."""
    book = exposure.recalibrated(book)
    without = exposure.policy.without & set(book.states)
    cover = cover_of(assessed, book.states, replace(exposure.policy, without=without))
    losses: FloatArray = book.mean_losses(cover).sum(axis=1).mean(axis=1)
    if SINKING not in book.states:
        return losses, np.zeros(book.rows)
    return losses, book.count * book.chance[:, book.states.index(SINKING)].mean(axis=1)
