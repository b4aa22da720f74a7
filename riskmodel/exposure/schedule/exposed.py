"""What a schedule of any size loses over a stretch of time: read, assessed, priced and summed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from riskmodel.consequence import vessel_losses
from riskmodel.exposure.book import Book, states_of_money
from riskmodel.exposure.cover import Cover, Policy, cover_of
from riskmodel.exposure.doubt import Doubt
from riskmodel.exposure.exposed import Exposure, bands_of
from riskmodel.exposure.schedule.doubted import doubt_of_kinds, with_doubt
from riskmodel.exposure.schedule.priced import PricedBook, priced_book
from riskmodel.exposure.schedule.reading import Counted
from riskmodel.exposure.schedule.risks import KindRisks, kind_risks
from riskmodel.exposure.schedule.side import AnySide, side_of_schedule
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.fleet import Fleet
from riskmodel.risk import Horizon
from riskmodel.risk.prices import price_notes
from riskmodel.risk.redrawn import MEANS_SEED
from riskmodel.trade import Trade


@dataclass(frozen=True, eq=False)
class Priced:
    """The boats of a priced book: ``fleet`` of one boat a group that costs alike, over the ``horizon``."""

    fleet: Fleet
    horizon: Horizon
    trade: Trade
    seed: int
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class ScheduleExposure:
    """The year of a schedule, ``before`` and ``after`` the terms of ``policy``, with what it was worked out from.

    ``result``: the boats of its book. ``doubt``: what kinds of assumed outfit or untold visits share. ``ranked``: what
    `rank` would add up to, which ``before`` falls short of by what total losses that exclude each other would count
    twice. What Exposure has of claims (``recalibration, modelled``) and of places (``spells``) is not in it.
    """

    result: Priced
    counted: Counted
    kinds: Kinds
    doubt: Doubt
    risks: KindRisks
    priced: PricedBook
    policy: Policy
    before: AnySide
    after: AnySide
    recalibration: None = None
    modelled: None = None
    spells: None = None

    @property
    def book(self) -> Book:
        """The book."""
        return self.priced.book

    @property
    def ranked(self) -> float:
        """As in Exposure."""
        return self.priced.ranked


AnyExposure = Exposure | ScheduleExposure


def exposure_of_schedule(
    counted: Counted, kinds: Kinds, horizon: Horizon, policy: Policy, seed: int = MEANS_SEED
) -> ScheduleExposure:
    """What the boats of a counted schedule lose over a horizon, by the draws that `rank` has.

    ``seed``: of the draws behind bands, and of nothing else.

    Raises
    ------
    ParameterError
        For terms that cannot be.
    """
    found = _by_draws((counted, kinds, horizon), policy, MEANS_SEED)
    if seed == MEANS_SEED:
        return found
    other = _by_draws((counted, kinds, horizon), policy, seed)
    before = replace(found.before, table=bands_of(found.before.table, other.before.table))
    after = before
    if found.after is not found.before:
        after = replace(found.after, table=bands_of(found.after.table, other.after.table))
    return replace(found, before=before, after=after)


def _by_draws(asked: tuple[Counted, Kinds, Horizon], policy: Policy, seed: int) -> ScheduleExposure:
    counted, kinds, horizon = asked
    trade = kinds.learned.trade
    states = states_of_money(vessel_losses(kinds.learned.fleet.vessels.iloc[:1], trade))
    plain = kind_risks(kinds, horizon, states, seed)
    doubt = doubt_of_kinds(kinds, plain, horizon, seed)
    risks = with_doubt(plain, kinds, doubt, seed)
    priced = priced_book(counted, kinds, risks, (trade, seed))
    fleet = replace(kinds.learned.fleet, vessels=priced.book.vessels)
    result = Priced(fleet, horizon, trade, seed, (*fleet.notes, *price_notes(fleet.settings)))
    cover = cover_of(result, states, policy)
    everything = Cover.of_all(priced.book.severity.value, len(states))
    before = side_of_schedule(priced.book, everything)
    after = before if cover.pays_all else side_of_schedule(priced.book, cover)
    return ScheduleExposure(result, counted, kinds, doubt, risks, priced, policy, before, after)
