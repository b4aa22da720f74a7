"""The insurer's year of an assessed fleet: mean, spread and tail of its losses, before and after policy terms."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book, book_of, ranked_loss
from riskmodel.exposure.claims import Recalibration, recalibration
from riskmodel.exposure.cover import Cover, Policy, cover_of
from riskmodel.exposure.distribution import LossDistribution, LossErrors
from riskmodel.exposure.doubt import Doubt, doubt_of
from riskmodel.exposure.groups import Part
from riskmodel.exposure.places import Places, Spells
from riskmodel.exposure.spells import spells_of
from riskmodel.exposure.tails import contributions, worst_years
from riskmodel.exposure.window import OUTSIDE
from riskmodel.exposure.years import Years, lattice_for, years_of
from riskmodel.exposure.years_largest import YearsLargest, largest_of
from riskmodel.risk import Assessment

RETURN_PERIODS = (2, 5, 10, 20, 50, 100, 200, 500)
# The worst years whose mean is shared out: one in so many.
WORST = 100
# A parameter band leaves out this share of the draws on either side.
BAND = 0.05


@dataclass(frozen=True, eq=False)
class Side:
    """Losses on one side of the terms: ``total`` of the year and its ``largest`` single loss.

    ``mean`` (n, K): expected loss of each row's boats by end state. ``table``: by ``return_period``, ``total,
    tail_mean, largest`` with ``_low`` and ``_high``: 5 % and 95 % over the draws. All in currency.
    """

    part: Part
    years: Years
    total: LossDistribution
    largest: YearsLargest
    mean: FloatArray
    table: pd.DataFrame

    @cached_property
    def tail(self) -> FloatArray:
        """(n, K) each row's and end state's part in the mean of the worst year in WORST."""
        return contributions(self.part, self.years, worst_years(self.total, 1.0 - 1.0 / WORST))

    @cached_property
    def apart(self) -> LossDistribution:
        """The year's total if every boat lay at a place of its own, on the same lattice."""
        if self.part.places is None:
            return self.total
        part = replace(self.part, places=None)
        return total_of([part], years_of([part], self.years.lattice))


@dataclass(frozen=True, eq=False)
class Exposure:
    """The book and its year, ``before`` and ``after`` the terms of ``policy``; ``ranked``: what `rank` adds up to,
    which ``before`` falls short of by what total losses that exclude each other would count twice.

    ``recalibration``: what the fleet's claims changed in all of this; ``modelled``: mean losses before and after terms
    without them. None without claims. ``doubt``: what boats of assumed outfit or untold visits share; ``spells``: what
    boats that lie together do, None where none do.
    """

    result: Assessment
    book: Book
    policy: Policy
    before: Side
    after: Side
    ranked: float
    doubt: Doubt
    spells: Spells | None
    recalibration: Recalibration | None = None
    modelled: tuple[float, float] | None = None

    def recalibrated(self, book: Book) -> Book:
        """Another book of the same fleet, moved by the claims as this one was."""
        return book if self.recalibration is None else self.recalibration.applied(book)

    def _repr_html_(self) -> str:
        head = f"<p>{self.book.boats:,} boats. Wet-system losses only: not weather, collision, theft or liability.</p>"
        return head + self.after.total._repr_html_() + self.after.table.to_html(index=False)


def exposure_of(result: Assessment, policy: Policy | None = None) -> Exposure:
    """What a fleet loses over its horizon and how bad it may get, exactly, over the draws that `rank` has.

    The mean is the sum over boats of the mean over draws of E[loss | draw] after terms. ``before`` is that of all days,
    ``after`` that of the days on risk. Bands are those of the draws of the seed that was asked for.

    Raises
    ------
    TableError
        For boats without any part, listed or typical.
    ParameterError
        For terms that cannot be.
    """
    terms = policy or Policy()
    found = _by_draws(result, terms)
    if result.redrawn is None:
        return found
    other = _by_draws(result.redrawn, terms)
    before = replace(found.before, table=bands_of(found.before.table, other.before.table))
    after = before
    if found.after is not found.before:
        after = replace(found.after, table=bands_of(found.after.table, other.after.table))
    return replace(found, before=before, after=after)


def bands_of(table: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    """A table by return period (Side) with the bands of another."""
    bands = [name for name in table.columns.astype(str) if name.endswith(("_low", "_high"))]
    return table.assign(**{name: other[name] for name in bands})


def _by_draws(result: Assessment, terms: Policy) -> Exposure:
    doubt = doubt_of(result)
    book = book_of(result, doubt)
    cover = cover_of(result, book.states, terms)
    everything = Cover.of_all(book.severity.value, len(book.states))
    told, modelled = recalibration(result, book, terms), None
    if told is not None:
        modelled = mean_loss(book, everything), mean_loss(book, cover)
        book = told.applied(book)
    spells = spells_of(result, book)
    places = None if spells is None else spells.places(book)
    before = side_of(book, everything, places)
    after = before if cover.pays_all else side_of(book, cover, places)
    return Exposure(result, book, terms, before, after, ranked_loss(result), doubt, spells, told, modelled)


def mean_loss(book: Book, cover: Cover) -> float:
    """A book's mean loss under a cover [currency]."""
    return float(book.mean_losses(cover).mean(axis=2).sum())


def side_of(book: Book, cover: Cover, places: Places | None = None) -> Side:
    """A book's losses under a cover, with what its boats share at their ``places``."""
    part = Part(book, cover, places=places)
    means = book.mean_losses(cover)
    years = years_of([part], lattice_for([part]))
    total = total_of([part], years)
    largest = largest_of(part)
    table = by_return_period(years, total, largest)
    return Side(part, years, total, largest, means.mean(axis=2), table)


def total_of(parts: list[Part], years: Years) -> LossDistribution:
    """The year's total over all draws: their mixture, equally weighted."""
    means = sum(part.share * part.book.mean_losses(part.cover).sum(axis=(0, 1)) for part in parts)
    assert isinstance(means, np.ndarray)
    losses = years.lattice.losses
    inside = years.pmf @ losses
    process = float(np.maximum(years.pmf @ losses**2 - inside**2, 0.0).mean())
    parameter = float(means.var())
    sd = float(np.sqrt(process + parameter))
    # No loss split between two points grows its square by more than a quarter of the step's.
    added = sum(part.share * expected_losses(part) for part in parts) * years.lattice.step**2 / 4.0
    return LossDistribution(
        mean=float(means.mean()),
        sd=sd,
        pmf=years.pmf.mean(axis=0),
        step=years.lattice.step,
        start=years.lattice.first * years.lattice.step,
        process_sd=float(np.sqrt(process)),
        parameter_sd=float(np.sqrt(parameter)),
        errors=LossErrors(
            discretisation=sd - float(np.sqrt(max(sd**2 - added, 0.0))),
            moved=added / years.lattice.step,
            wrap=2.0 * OUTSIDE,
        ),
    )


def expected_losses(part: Part) -> float:
    """Expected number of losses of which anything is paid."""
    paid = part.book.severity.payouts(part.cover).exceedance(0.0)
    return float(
        sum(
            count * (part.sized(boat).mean(axis=0) * paid[boat]).sum()
            for boat, count in enumerate(part.book.count)
        )
    )


def drawn_quantiles(losses: FloatArray, pmf: FloatArray, probability: FloatArray) -> FloatArray:
    """(D, p) the least of ``losses`` (m,) not exceeded with each probability, by draw."""
    upto = np.cumsum(pmf, axis=1)
    places = np.array([np.searchsorted(each, probability - 1e-12) for each in upto])
    found: FloatArray = losses[np.minimum(places, len(losses) - 1)]
    return found


def drawn_tail_means(
    losses: FloatArray, pmf: FloatArray, probability: FloatArray, quantiles: FloatArray
) -> FloatArray:
    """(D, p) coherent mean of the worst 1 - p of years, by draw: the quantile and the mean excess over it."""
    found = np.empty_like(quantiles)
    for column, wanted in enumerate(probability):
        over = np.maximum(losses - quantiles[:, column, None], 0.0)
        found[:, column] = quantiles[:, column] + (pmf * over).sum(axis=1) / (1.0 - wanted)
    return found


@dataclass(frozen=True, eq=False)
class Quantiles:
    """Totals and largest losses not exceeded with some chances, over all draws (p,) and draw by draw (D, p)."""

    total: FloatArray
    drawn_total: FloatArray
    largest: FloatArray
    drawn_largest: FloatArray


def quantiles_of(
    years: Years, total: LossDistribution, largest: YearsLargest, probability: FloatArray
) -> Quantiles:
    """Both at once, so that they agree: no year's total is under its largest loss.

    Between two points of its lattice a total is not known; a largest loss that lies there is the better figure.
    """
    one, ones = largest.quantile(probability), largest.drawn_quantiles(probability)
    drawn = drawn_quantiles(total.losses, years.pmf, probability)
    return Quantiles(np.maximum(total.quantile(probability), one), np.maximum(drawn, ones), one, ones)


def by_return_period(years: Years, total: LossDistribution, largest: YearsLargest) -> pd.DataFrame:
    """Totals, tail means and largest losses exceeded once in RETURN_PERIODS, with 90 % bands over the draws."""
    wanted = 1.0 - 1.0 / np.array(RETURN_PERIODS, dtype=float)
    found = quantiles_of(years, total, largest, wanted)
    tails = drawn_tail_means(total.losses, years.pmf, wanted, found.drawn_total)
    rows = {
        "total": (found.total, found.drawn_total),
        "tail_mean": (np.maximum(total.tail_mean(wanted), found.total), tails),
        "largest": (found.largest, found.drawn_largest),
    }
    frame = pd.DataFrame({"return_period": RETURN_PERIODS})
    for name, (middle, drawn) in rows.items():
        low, high = np.quantile(drawn, [BAND, 1.0 - BAND], axis=0)
        frame = frame.assign(**{name: middle, f"{name}_low": low, f"{name}_high": high})
    return frame
