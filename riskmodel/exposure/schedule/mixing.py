"""Parts of many ages as one: chances by age, mixed over the ages that a kind of boat's parts have."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.consequence import barrier_needs
from riskmodel.exposure.schedule.ages import UNKNOWN
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.frames import places_by
from riskmodel.risk import Horizon
from riskmodel.risk.averted import Barriers
from riskmodel.risk.by_age import ByAge, barrier_by_age, by_age
from riskmodel.risk.chances import chance_of_any, drawn_parameters
from riskmodel.risk.draws import Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.learned import Learned, installed_on
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.working import not_working
from riskmodel.units import DAYS_PER_YEAR

Tables = Mapping[str, "ClassByAge"]
Places = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class ClassByAge:
    """A class's table, the ``ages`` of it that parts have (places of cells), and by row of Kinds the place ``like``."""

    table: ByAge
    ages: Places
    like: Places


def tables_by_age(kinds: Kinds, horizon: Horizon, draws: Draws) -> dict[str, ClassByAge]:
    """Chances by age of every class that somebody lists."""
    learned = kinds.learned
    fleet, lives, trade = learned.fleet, learned.lives, learned.trade
    needs = barrier_needs(trade)
    row = rows_of_items(learned)
    looks = clean_looks(fleet, installed_on(lives))
    found = {}
    for name, place in places_by(fleet.items["item_class"]).items():
        mine = place[kinds.listed[row[place]]]
        column = kinds.classes.index(name)
        ages = np.setdiff1d(np.flatnonzero(kinds.number[:, column].any(axis=0)), [UNKNOWN])
        if not len(mine) or not len(ages):
            continue
        where = learned.where.iloc[mine].reset_index(drop=True)
        gathered = gather_parts(trade.classes[name], where, lives, looks, (trade, draws))
        hours = lives.clocks[name].by_hours if name in lives.clocks else None
        parameters = drawn_parameters(name, lives.posterior[name], hours, draws)
        tabled = barrier_by_age if name in needs else by_age
        years = kinds.age[column, ages] / DAYS_PER_YEAR
        table = tabled(gathered, lives.posterior[name], parameters, years, horizon.years)
        like = np.full(len(kinds.kind), -1)
        like[row[mine]] = table.like
        found[name] = ClassByAge(table, ages, like)
    return found


def rows_of_items(learned: Learned) -> Places:
    """(items,) the place of each item's boat among the vessels."""
    boats = {name: place for place, name in enumerate(learned.fleet.vessels["vessel_id"])}
    return learned.fleet.items["vessel_id"].map(boats).to_numpy(dtype=np.intp)


@dataclass(frozen=True, eq=False)
class Mix:
    """Ages of parts mixed into one chance a row and class.

    ``number`` (r, classes, ages) of the rows at hand, which are ``row`` (r,) of all; ``listed`` (r,): rows whose parts
    are listed, and so have ages.
    """

    number: FloatArray
    classes: tuple[str, ...]
    listed: npt.NDArray[np.bool_]
    tables: Tables
    row: Places

    def drawn(self, learned: Learned, unknown: FloatArray) -> FloatArray:
        """(items, DRAWS) chances, those of listed parts by their ages; ``unknown``: as if no age were known."""
        found = unknown.copy()
        for name, here, row in self._listed(learned):
            quantity = learned.fleet.items["quantity"].to_numpy(dtype=float)[here]
            loose = -np.expm1(np.log1p(-np.minimum(unknown[here], 1 - 1e-15)) / quantity[:, None])
            found[here] = chance_of_any(self._mixed(name, row, "chance", loose), quantity)
        return found

    def dead(self, learned: Learned, barriers: Barriers, what: str) -> dict[str, FloatArray]:
        """Per barrier class the chance (items of it, DRAWS) that none of a row's parts works: ``dead`` as things stand,
        ``dead_tested`` after a perfect test today."""
        dead: dict[str, FloatArray] = {
            name: getattr(barriers.ready[name], what).copy() for name in barriers.places
        }
        for name, here, row in self._listed(learned):
            if name not in dead:
                continue
            quantity = learned.fleet.items["quantity"].to_numpy(dtype=float)[here]
            place = np.searchsorted(barriers.places[name], here)
            loose = _one_dead(dead[name][place], quantity)
            dead[name][place] = not_working(1.0 - self._mixed(name, row, what, loose), quantity)
        return dead

    def _listed(self, learned: Learned) -> Iterator[tuple[str, Places, Places]]:
        """Classes with the places of their listed parts, in rising order, and the rows these are on."""
        row = rows_of_items(learned)
        for name, place in places_by(learned.fleet.items["item_class"]).items():
            here = np.sort(place[self.listed[row[place]]])
            if len(here):
                yield name, here, row[here]

    def _mixed(self, name: str, row: Places, what: str, loose: FloatArray) -> FloatArray:
        """(n, DRAWS) one part's chance over the ages it has on these rows; ``loose`` where the age is unknown."""
        number = self.number[row, self.classes.index(name)]
        weight = number / number.sum(axis=1, keepdims=True)
        found: FloatArray = weight[:, UNKNOWN, None] * loose
        if name in self.tables:
            by = self.tables[name]
            like = by.like[self.row[row]]
            values = getattr(by.table, what)
            found = found + replace(by.table, like=like).mixed(values, weight[:, by.ages])
        return found


def _one_dead(dead: FloatArray, quantity: FloatArray) -> FloatArray:
    """(n, DRAWS) chance that one part does not work, from that of none of ``quantity`` (working.not_working)."""
    carried, several = np.minimum(quantity, 1.0)[:, None], np.maximum(quantity, 1.0)[:, None]
    one: FloatArray = np.clip((dead - (1.0 - carried)) / carried, 0.0, 1.0) ** (1.0 / several)
    return one
