"""The year of a schedule on one side of its terms, by whichever arithmetic its size calls for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.distribution import LossDistribution, LossErrors
from riskmodel.exposure.exposed import (
    WORST,
    Side,
    by_return_period,
    side_of,
)
from riskmodel.exposure.groups import Part
from riskmodel.exposure.many import (
    DrawMoments,
    Sized,
    closing,
    draw_moments,
    large_enough,
    many_contributions,
    many_years,
    mixed_total,
    reading_lattice,
    sized_losses,
)
from riskmodel.exposure.smoothing import Spread, lumpiness
from riskmodel.exposure.tails import worst_years
from riskmodel.exposure.window import OUTSIDE
from riskmodel.exposure.years import Years
from riskmodel.exposure.years_largest import YearsLargest, largest_of


@dataclass(frozen=True, eq=False)
class ManySide:
    """A Side of a book so large that no single loss shows (many): the same figures, ``losses`` on sizes of their own
    and the gaps between draws closed by ``spread``."""

    part: Part
    years: Years
    total: LossDistribution
    largest: YearsLargest
    mean: FloatArray
    table: pd.DataFrame
    losses: Sized
    spread: Spread

    @cached_property
    def tail(self) -> FloatArray:
        """(n, K) each row's and end state's part in the mean of the worst year in WORST.

        What closing gaps between draws moves is no boat's: it is shared out in proportion, so that parts add up.
        """
        probability = 1.0 - 1.0 / WORST
        weight = worst_years(self.total, probability)
        found = many_contributions(self.part, self.losses, self.years, weight, self.spread)
        return found * (
            float(self.total.tail_mean(probability)) / max(float(found.sum()), np.finfo(float).tiny)
        )


AnySide = Side | ManySide


def side_of_schedule(book: Book, cover: Cover) -> AnySide:
    """A schedule's losses under a cover."""
    part = Part(book, cover)
    if not part.book.severity.payouts(cover).most.any():
        return side_of(book, cover)
    losses = sized_losses(part)
    found = draw_moments(part, losses)
    if not large_enough(found):
        return side_of(book, cover)
    spread = closing(found)
    years = many_years(part, losses, found, reading_lattice(found, spread))
    if years is None:
        return side_of(book, cover)
    total = _total(found, years, spread)
    largest = largest_of(part)
    return ManySide(
        part=part,
        years=years,
        total=total,
        largest=largest,
        mean=book.mean_losses(cover).mean(axis=2),
        table=by_return_period(years, total, largest),
        losses=losses,
        spread=spread,
    )


def _total(found: DrawMoments, years: Years, spread: Spread) -> LossDistribution:
    process, parameter = float((found.sd**2).mean()), float(found.mean.var())
    sd = float(np.sqrt(process + parameter))
    weight = np.full(len(found.mean), 1.0 / len(found.mean))
    closed = bool(spread.half.any())
    return LossDistribution(
        mean=float(found.mean.mean()),
        sd=sd,
        pmf=mixed_total(years, spread),
        step=years.lattice.step,
        start=years.lattice.first * years.lattice.step,
        process_sd=float(np.sqrt(process)),
        parameter_sd=float(np.sqrt(parameter)),
        errors=LossErrors(
            discretisation=sd - float(np.sqrt(max(sd**2 - found.split, 0.0))),
            moved=0.0,
            wrap=2.0 * OUTSIDE,
            lumpiness=0.0 if closed else lumpiness(found.mean, found.sd, weight),
        ),
    )
