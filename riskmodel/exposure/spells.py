"""Bad spells that befall every boat of a place at once, and how much higher hazards are in a year with one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import Book
from riskmodel.exposure.otherwise import chances_otherwise, otherwise
from riskmodel.exposure.places import Rows, Spells, rows_together
from riskmodel.fleet import Fleet
from riskmodel.risk import Assessment
from riskmodel.risk.draws import Draws
from riskmodel.trade import Trade
from riskmodel.trade.place_rules import NOBODY_COMES, POWER_CUT
from riskmodel.trade.places import PlaceYear
from riskmodel.units import DAYS_PER_YEAR

# Rows over which a spell's chances, worked out twice, differ by no more than rounding.
SAME = 1e-9


@dataclass(frozen=True)
class Scenario:
    """Something that befalls every boat of a place at once, for so many days, and that the physics can work out."""

    name: str
    told: str
    days: float
    change: Callable[[Fleet], Fleet]


def without_power(fleet: Fleet) -> Fleet:
    """The fleet with no shore power anywhere: every pump on its battery at once."""
    periods = fleet.periods.assign(shore_power="no") if len(fleet.periods) else fleet.periods
    return replace(fleet, vessels=fleet.vessels.assign(shore_power=False), periods=periods)


def without_visits(fleet: Fleet, days: float) -> Fleet:
    """The fleet with nobody coming by: visits no closer together than so many days."""
    visited = np.maximum(fleet.vessels["checked_every_days"], days)
    own = fleet.periods["visited_every_days"].astype(float)
    periods = fleet.periods.assign(visited_every_days=own.clip(lower=days))
    return replace(fleet, vessels=fleet.vessels.assign(checked_every_days=visited), periods=periods)


def scenarios_of(trade: Trade) -> tuple[Scenario, ...]:
    """The spells of the trade's table that the physics can work out, in its order."""
    changes: dict[str, Callable[[float], Callable[[Fleet], Fleet]]] = {
        POWER_CUT: lambda days: without_power,
        NOBODY_COMES: lambda days: partial(without_visits, days=days),
    }
    return tuple(
        Scenario(row.spell, row.label, row.days, changes[row.spell](row.days))
        for row in trade.place_years.values()
        if row.spell in changes
    )


def spells_of(result: Assessment, book: Book) -> Spells | None:
    """What the places of an assessed book may have befall them over its horizon; None where no boats lie together
    that it could touch.

    A spell that the physics can work out falls on days like the others of the horizon: its share of them is taken from
    a year of nothing else (the same parts, visited or powered otherwise). One that is judged multiplies what its
    classes of parts bring about. At most one spell comes to a place in the time ahead; each hazard rises or stays.
    """
    together = rows_together(book.vessels)
    table = [row for row in result.trade.place_years.values() if row.chance_high > 0]
    if not together or not table:
        return None
    rows = np.concatenate(together)
    worked = {each.name: each for each in scenarios_of(result.trade)}
    rises = [
        _worked_out(result, book, rows, worked[row.spell])
        if row.spell in worked
        else _judged(result, book, rows, row)
        for row in table
    ]
    often = _often(table, Draws(result.seed), result.horizon.years)
    return _where_it_matters(Spells(tuple(row.spell for row in table), often, together, np.stack(rises)))


def _where_it_matters(spells: Spells) -> Spells | None:
    """Without places to which no spell does anything: their boats are as good as by themselves."""
    place = np.repeat(np.arange(len(spells.together)), [len(rows) for rows in spells.together])
    struck = (spells.rises > 1.0).any(axis=(0, 2, 3))
    kept = np.isin(place, place[struck])
    together = tuple(spells.together[number] for number in np.unique(place[kept]))
    return replace(spells, together=together, rises=spells.rises[:, kept]) if together else None


def _often(table: list[PlaceYear], draws: Draws, years: float) -> FloatArray:
    """(S, D) chance that a spell comes to a place over the horizon, the doubt about it being one for all places."""
    yearly = np.concatenate(
        [
            draws.between(f"place_year/{row.spell}", np.array([row.chance_low]), np.array([row.chance_high]))
            for row in table
        ]
    )
    found = -np.expm1(years * np.log1p(-np.minimum(yearly, 1.0 - 1e-12)))
    # A draw far out in several of them still has at most one.
    whole: FloatArray = found / np.maximum(found.sum(axis=0), 1.0)
    return whole


def _worked_out(result: Assessment, book: Book, rows: Rows, scenario: Scenario) -> FloatArray:
    """(m, K, D) how many times as high hazards are over a horizon with the scenario's days in it."""
    struck = chances_otherwise(otherwise(result, scenario.change(result.fleet)))
    share = min(scenario.days / (result.horizon.years * DAYS_PER_YEAR), 1.0)
    found = np.ones((len(rows), len(book.states), book.chance.shape[2]))
    for place, name in enumerate(book.states):
        if name in struck:
            usual, other = (_hazard(each[name][rows]) for each in (result.boats, struck))
            times = np.divide(other, usual, out=np.ones_like(usual), where=usual > 0)
            found[:, place] += share * np.where(times > 1.0 + SAME, times - 1.0, 0.0)
    return found


def _judged(result: Assessment, book: Book, rows: Rows, spell: PlaceYear) -> FloatArray:
    """(m, K, D) the same where what some classes bring about comes more often by a judged factor, for one year."""
    assert spell.factor_low is not None
    assert spell.factor_high is not None
    low, high = np.array([spell.factor_low]), np.array([spell.factor_high])
    factor = Draws(result.seed).between(f"place_year/{spell.spell}/factor", low, high)[0]
    more = np.maximum(factor - 1.0, 0.0) / max(result.horizon.years, 1.0)
    share = _share_of(result, book, spell.classes)[rows]
    climate = book.vessels["climate"].astype(str).isin(spell.climate).to_numpy()[rows]
    reached = climate if spell.climate else np.ones(len(rows), dtype=bool)
    found: FloatArray = 1.0 + (share * reached[:, None])[:, :, None] * more
    return found


def _share_of(result: Assessment, book: Book, classes: tuple[str, ...]) -> FloatArray:
    """(n, K) what part of each boat's chance of an end state such parts bring about."""
    named = result.fleet.items["item_class"].isin(classes).to_numpy()
    vessel = result.consequences.vessel
    found = np.zeros((book.rows, len(book.states)))
    for place, name in enumerate(book.states):
        if name not in result.chances:
            continue
        chance = result.chances[name].to_numpy(dtype=float)
        whole = np.bincount(vessel, chance, minlength=book.rows)
        if name in result.background:
            whole = whole + result.background[name].to_numpy(dtype=float)
        theirs = np.bincount(vessel, chance * named, minlength=book.rows)
        found[:, place] = np.divide(theirs, whole, out=np.zeros_like(whole), where=whole > 0)
    return found


def _hazard(chance: FloatArray) -> FloatArray:
    found: FloatArray = -np.log1p(-np.minimum(chance, 1.0 - 1e-12))
    return found
