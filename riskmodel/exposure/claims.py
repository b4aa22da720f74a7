"""An insurer's own claims move a book's frequency and severity, end state by end state, by what they are worth.

Frequency: claims seen are Poisson about what the model expects over the boat-years watched, times a factor whose gamma
before the record has mean 1 and the relative spread of the model's 160 draws. Severity: the mean of claims is
log-normal about the modelled one. Each draw's hazard of an end state is then multiplied, so that the draws of the
expected number have the posterior's mean and deviation; the draws keep equal weight.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book, book_of
from riskmodel.exposure.claim_sizes import Losses, expected_claims, modelled_terms, size_of_claims
from riskmodel.exposure.cover import Cover, Policy, cover_of
from riskmodel.exposure.credibility import TAILS, Frequency, Severity, draw_factors, gamma_poisson
from riskmodel.exposure.doubt import doubt_of
from riskmodel.exposure.hazards import hazards, with_hazards
from riskmodel.exposure.severities import with_means_times
from riskmodel.exposure.watched import Watched, watched
from riskmodel.fleet.causes import SINKING as SOME_SINKING
from riskmodel.risk import Assessment, Horizon
from riskmodel.risk.assess import assess_by_draws
from riskmodel.risk.outcomes import SINKING

YEAR_DAYS = 365
# A horizon as near to a year as this (days) is one: its hazards are those of all seasons.
NEAR_YEAR = 15


@dataclass(frozen=True)
class Told:
    """What claims say of one group of end states: ``seen`` over the watch, where the draws' 90 % of the number expected
    runs from ``low`` to ``high``; ``claims`` of any day, whose size tells of ``severity``. None: nothing to learn."""

    seen: int
    expected: float
    low: float
    high: float
    frequency: Frequency | None
    claims: int
    severity: Severity | None


@dataclass(frozen=True, eq=False)
class Recalibration:
    """What claims change: factors on the hazard by end state, draw by draw (D,), and on the mean loss.

    ``told``: by group of end states. ``unused``: claims of end states that are not covered, or that this book cannot
    come to. ``paid_claims`` say what was paid: ``paid_share`` of their gross, where the terms asked for would pay
    ``terms_share`` of the modelled; NaN for none.
    """

    frequency: Mapping[str, FloatArray]
    severity: Mapping[str, float]
    told: Mapping[str, Told]
    watched: Watched
    unused: int
    paid_claims: int
    paid_share: float
    terms_share: float

    def applied(self, book: Book) -> Book:
        """Another book of the same fleet, losing as often and as much as the claims say."""
        hazard = hazards(book)
        for place, name in enumerate(book.states):
            if name in self.frequency:
                hazard[:, place] *= self.frequency[name]
        return _dearer(with_hazards(book, hazard), self.severity)


def recalibration(result: Assessment, book: Book, policy: Policy) -> Recalibration | None:
    """What the fleet's claims change in its book; None where it has none and nobody says since when.

    Boats are taken to have been at the risk of the year ahead, and laid up as in it, all the time they were watched.
    """
    seen = watched(result.fleet, policy)
    if seen is None:
        return None
    days = (result.horizon.until - result.horizon.as_of).days
    if abs(days - YEAR_DAYS) <= NEAR_YEAR:
        return recalibration_of(book, result.horizon.years, seen, _cover_all_along(result, book, policy))
    as_of = result.horizon.as_of
    horizon = Horizon(as_of, as_of + timedelta(days=YEAR_DAYS), "a year")
    assessed = assess_by_draws(result.learned, horizon, result.seed)
    year = book_of(assessed, doubt_of(assessed))
    return recalibration_of(year, horizon.years, seen, _cover_all_along(assessed, year, policy))


def _cover_all_along(result: Assessment, book: Book, policy: Policy) -> Cover:
    """The cover of boats whose policies neither begin nor end, as on the days they were watched; lay-ups stay."""
    fleet = result.fleet
    never = pd.Series(pd.NaT, index=fleet.vessels.index, dtype=fleet.vessels["inception"].dtype)
    open_ended = replace(fleet, vessels=fleet.vessels.assign(inception=never, expiry=never))
    within = replace(result, learned=replace(result.learned, fleet=open_ended))
    return cover_of(within, book.states, policy)


def recalibration_of(book: Book, years: float, seen: Watched, cover: Cover) -> Recalibration:
    """The same for a book over so many years; losses up to what was borne are not expected to be seen, nor those of
    days that ``cover`` leaves out of the days watched."""
    losses = Losses(book.severity, hazards(book) * cover.on_risk[:, :, None] / years, seen.borne)
    # What was paid of claims is held against the terms alone: they are claims, so those days were on risk.
    cover = replace(cover, on_risk=np.ones_like(cover.on_risk))
    groups = groups_of(book.states, cover)
    places = {name: [book.states.index(state) for state in states] for name, states in groups.items()}
    group = seen.claims["cause"].map(_group)
    claims = {name: seen.claims[group == name] for name in groups}
    sizes = {name: size_of_claims(losses, places[name], claims[name]) for name in groups}
    severity = {
        state: size.mean for name, size in sizes.items() if size is not None for state in groups[name]
    }
    losses = replace(losses, severity=_dearer(book, severity).severity)
    number = expected_claims(losses, seen.years)
    told: dict[str, Told] = {}
    frequency: dict[str, FloatArray] = {}
    for name, states in groups.items():
        expected = number[places[name]].sum(axis=0)
        told[name] = _told(expected, claims[name], sizes[name])
        found = told[name].frequency
        if found is not None:
            frequency |= dict.fromkeys(states, draw_factors(expected, found))
    unused = int((~group.isin(list(groups))).sum())
    paid = _paid(losses, cover, places, claims)
    return Recalibration(frequency, severity, told, seen, unused, *paid)


def groups_of(states: tuple[str, ...], cover: Cover) -> dict[str, tuple[str, ...]]:
    """End states that claims are told of together: both kinds of sinking, others alone; none that is not covered."""
    groups: dict[str, tuple[str, ...]] = {}
    for state in states:
        groups[_group(state)] = (*groups.get(_group(state), ()), state)
    covered = {state for place, state in enumerate(states) if cover.covered[:, place].any()}
    return {name: each for name, each in groups.items() if set(each) <= covered}


def _group(cause: str) -> str:
    return SOME_SINKING if cause in SINKING else cause


def _told(expected: FloatArray, claims: pd.DataFrame, size: Severity | None) -> Told:
    seen = int(claims["counts"].sum())
    low, high = np.quantile(expected, TAILS)
    return Told(
        seen=seen,
        expected=float(expected.mean()),
        low=float(low),
        high=float(high),
        frequency=gamma_poisson(expected, seen),
        claims=len(claims),
        severity=size,
    )


def _dearer(book: Book, severity: Mapping[str, float]) -> Book:
    factor = np.array([severity.get(name, 1.0) for name in book.states])
    return replace(book, severity=with_means_times(book.severity, factor))


def _paid(
    losses: Losses, cover: Cover, places: Mapping[str, list[int]], claims: Mapping[str, pd.DataFrame]
) -> tuple[int, float, float]:
    """How many claims say what was paid, its share of their gross, and the share the terms would pay as modelled."""
    told = {name: each[each["paid"].notna()] for name, each in claims.items()}
    count = sum(map(len, told.values()))
    if not count:
        return 0, float("nan"), float("nan")
    paid, gross = (sum(float(each[name].sum()) for each in told.values()) for name in ("paid", "gross"))
    both = [modelled_terms(losses, cover, places[name], each) for name, each in told.items() if len(each)]
    by_terms, modelled = (sum(pair[place] for pair in both) for place in (0, 1))
    return (
        count,
        paid / gross if gross > 0 else float("nan"),
        by_terms / modelled if modelled > 0 else float("nan"),
    )
