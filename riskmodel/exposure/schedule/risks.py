"""What may happen to one boat of every kind, draw by draw: the kinds assessed, their parts by age."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import barrier_needs
from riskmodel.exposure.book import drawn_prices, exclusive_groups, state_costs
from riskmodel.exposure.exclusive import competing
from riskmodel.exposure.schedule.ages import UNKNOWN
from riskmodel.exposure.schedule.groups import IntArray
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.frames import places_by
from riskmodel.risk import Horizon
from riskmodel.risk.assess import fleet_consequences, parts_and_barriers
from riskmodel.risk.averted import Barriers
from riskmodel.risk.by_age import ByAge, barrier_by_age, by_age
from riskmodel.risk.chances import chance_of_any, drawn_parameters
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.learned import Learned, installed_on, only_boats
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.outcomes import Consequences, Outcomes, outcomes, uncorrelated
from riskmodel.risk.working import any_working, not_working
from riskmodel.trade import Trade
from riskmodel.units import DAYS_PER_YEAR

# Kinds assessed at a time: memory stays flat.
AT_ONCE = 500
TINY = np.finfo(float).tiny
Tables = Mapping[str, "ClassByAge"]


@dataclass(frozen=True, eq=False)
class KindRisks:
    """One boat of each row of Kinds, (r, K, DRAWS): the chance ``alone`` of each of ``states`` over the horizon, the
    ``chance`` with total losses excluding each other, and the ``factor`` on what it costs, for losses that grow with
    the time undetected. ``brought`` (r, K, classes + 1): the mean chance by the class of part that brings it about,
    last what no part does."""

    states: tuple[str, ...]
    alone: FloatArray
    chance: FloatArray
    factor: FloatArray
    brought: FloatArray


@dataclass(frozen=True, eq=False)
class ClassByAge:
    """A class's table, the ``ages`` of it that parts have (places of cells), and by row of Kinds the place ``like``."""

    table: ByAge
    ages: npt.NDArray[np.intp]
    like: npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class _Worked:
    consequences: Consequences
    trade: Trade
    seed: int


def kind_risks(kinds: Kinds, horizon: Horizon, states: tuple[str, ...], seed: int) -> KindRisks:
    """The risks of every row, some rows at a time."""
    draws = Draws(seed)
    tables = _tables(kinds, horizon, draws)
    shape = (len(kinds.kind), len(states), DRAWS)
    alone, factor = np.zeros(shape), np.ones(shape)
    brought = np.zeros((*shape[:2], len(kinds.classes) + 1))
    for some in _blocks(len(kinds.kind)):
        found, grown, classes = _block(kinds, some, horizon, (tables, seed))
        for place, name in enumerate(states):
            alone[some, place] = found.boats.get(name, 0.0)
            factor[some, place] = grown.get(name, 1.0)
            brought[some, place] = _brought(found, name, classes)
    held = competing(alone, exclusive_groups(states)[0])
    return KindRisks(states, alone, held, factor, brought)


def _blocks(rows: int) -> Iterator[slice]:
    for start in range(0, rows, AT_ONCE):
        yield slice(start, min(start + AT_ONCE, rows))


def _tables(kinds: Kinds, horizon: Horizon, draws: Draws) -> Tables:
    """Chances by age of every class that somebody lists."""
    learned = kinds.learned
    fleet, lives, trade = learned.fleet, learned.lives, learned.trade
    needs = barrier_needs(trade)
    row = _rows_of_items(learned)
    looks = clean_looks(fleet, installed_on(lives))
    found = {}
    for name, place in places_by(fleet.items["item_class"]).items():
        mine = place[kinds.listed[row[place]]]
        column = kinds.classes.index(name)
        ages = np.flatnonzero(kinds.number[:, column, :UNKNOWN].any(axis=0))
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


def _rows_of_items(learned: Learned) -> npt.NDArray[np.intp]:
    boats = {name: place for place, name in enumerate(learned.fleet.vessels["vessel_id"])}
    return learned.fleet.items["vessel_id"].map(boats).to_numpy(dtype=np.intp)


def _block(
    kinds: Kinds, some: slice, horizon: Horizon, tools: tuple[Tables, int]
) -> tuple[Outcomes, dict[str, FloatArray], _Classes]:
    """What comes of some rows, factors (rows, DRAWS) of losses that grow, and whose parts are of which class."""
    tables, seed = tools
    ids = frozenset(kinds.learned.fleet.vessels["vessel_id"].iloc[some])
    learned = only_boats(kinds.learned, ids)
    draws, trade = Draws(seed), learned.trade
    consequences = fleet_consequences(learned.fleet, horizon, trade)
    parts, barriers = parts_and_barriers(learned, horizon, (consequences, draws))
    mix = _Mix(
        kinds.number[some], kinds.classes, kinds.listed[some], tables, np.arange(some.start, some.stop)
    )
    drawn = mix.drawn(learned, parts.drawn)
    working = mix.working(learned, barriers, consequences)
    found = outcomes(drawn, consequences, working, trade, draws)
    costs = state_costs(_Worked(consequences, trade, seed), drawn, working)
    grown = {}
    for name, cost in costs.items():
        losses = consequences.losses[consequences.losses["end_state"] == name]
        price = drawn_prices(draws, losses, (name,))[:, 0]
        plain = uncorrelated(found.boats[name], price)
        grown[name] = np.divide(cost, plain, out=np.ones_like(cost), where=plain > TINY)
    column = pd.Index(kinds.classes).get_indexer(pd.Index(learned.fleet.items["item_class"])).astype(np.intp)
    return found, grown, _Classes(consequences.vessel, column, len(kinds.classes))


@dataclass(frozen=True, eq=False)
class _Classes:
    """By part, its ``row`` and its class's ``column``, of ``number`` classes."""

    row: npt.NDArray[np.intp]
    column: npt.NDArray[np.intp]
    number: int


def _brought(found: Outcomes, name: str, classes: _Classes) -> FloatArray:
    """(rows, classes + 1) mean chance of an end state by the class that brings it about; last what no part does."""
    rows = len(next(iter(found.boats.values())))
    by = np.zeros((rows, classes.number + 1))
    if name in found.probability:
        np.add.at(by, (classes.row, classes.column), found.probability[name])
    if name in found.background:
        by[:, -1] = found.background[name]
    return by


@dataclass(frozen=True, eq=False)
class _Mix:
    """Ages of parts mixed into one chance a row and class. ``number`` (r, classes, ages) of the rows at hand, which are
    ``row`` (r,) of all."""

    number: IntArray
    classes: tuple[str, ...]
    listed: npt.NDArray[np.bool_]
    tables: Tables
    row: npt.NDArray[np.intp]

    def drawn(self, learned: Learned, unknown: FloatArray) -> FloatArray:
        """(items, DRAWS) chances, those of listed parts by their ages; ``unknown``: as if no age were known."""
        found = unknown.copy()
        for name, here, row in self._listed(learned):
            quantity = learned.fleet.items["quantity"].to_numpy(dtype=float)[here]
            loose = -np.expm1(np.log1p(-np.minimum(unknown[here], 1 - 1e-15)) / quantity[:, None])
            one = self._mixed(name, row, "chance", loose)
            found[here] = chance_of_any(one, quantity)
        return found

    def working(
        self, learned: Learned, barriers: Barriers, consequences: Consequences
    ) -> dict[str, FloatArray]:
        """Per barrier class the chance (r, DRAWS) that one of a boat's parts works."""
        dead = {name: barriers.ready[name].dead.copy() for name in barriers.places}
        for name, here, row in self._listed(learned):
            if name not in dead:
                continue
            quantity = learned.fleet.items["quantity"].to_numpy(dtype=float)[here]
            place = np.searchsorted(barriers.places[name], here)
            loose = _one_dead(dead[name][place], quantity)
            dead[name][place] = not_working(1.0 - self._mixed(name, row, "dead", loose), quantity)
        return {
            name: any_working(dead[name], consequences.vessel[place], consequences.vessels)
            for name, place in barriers.places.items()
        }

    def _listed(self, learned: Learned) -> Iterator[tuple[str, npt.NDArray[np.intp], npt.NDArray[np.intp]]]:
        """Classes with the places of their listed parts, in rising order, and the rows these are on."""
        row = _rows_of_items(learned)
        for name, place in places_by(learned.fleet.items["item_class"]).items():
            here = np.sort(place[self.listed[row[place]]])
            if len(here):
                yield name, here, row[here]

    def _mixed(self, name: str, row: npt.NDArray[np.intp], what: str, loose: FloatArray) -> FloatArray:
        """(n, DRAWS) one part's chance over the ages it has on these rows; ``loose`` where the age is unknown."""
        number = self.number[row, self.classes.index(name)].astype(float)
        weight = number / number.sum(axis=1, keepdims=True)
        found: FloatArray = weight[:, UNKNOWN, None] * loose
        if name in self.tables:
            by = self.tables[name]
            values = getattr(by.table, what)
            like = by.like[self.row[row]]
            found = found + replace(by.table, like=like).mixed(values, weight[:, by.ages])
        return found


def _one_dead(dead: FloatArray, quantity: FloatArray) -> FloatArray:
    """(n, DRAWS) chance that one part does not work, from that of none of ``quantity`` (working.not_working)."""
    carried, several = np.minimum(quantity, 1.0)[:, None], np.maximum(quantity, 1.0)[:, None]
    one: FloatArray = np.clip((dead - (1.0 - carried)) / carried, 0.0, 1.0) ** (1.0 / several)
    return one
