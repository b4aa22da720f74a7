"""Parts of many ages as one: chances by age, mixed over the ages that a kind of boat's parts have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.consequence import barrier_needs
from riskmodel.exposure.schedule.ages import NEW, UNKNOWN
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.frames import places_by
from riskmodel.life import Life
from riskmodel.risk import Horizon
from riskmodel.risk.by_age import Alike, ByAge, Gathered, alike, barrier_by_age, barriers_alike, by_age
from riskmodel.risk.chances import Parameters, chance_of_any, drawn_parameters, one_of
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.learned import Learned, installed_on
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.parts import pick
from riskmodel.risk.working import not_working
from riskmodel.units import DAYS_PER_YEAR

Tables = Mapping[str, "ClassByAge"]
Places = npt.NDArray[np.intp]
# Columns of the tables, and what they are after renewal: nothing is found by a test of what is new.
CHANCE = "chance"
RENEWED = {CHANCE: "chance_renewed", "dead": "dead_renewed", "dead_tested": "dead_renewed"}


@dataclass(frozen=True, eq=False)
class ClassByAge:
    """A class's chances: by age, of one listed part, in ``table`` (None where none has an age) at ``ages`` (places of
    cells); of unknown age, of the ``usual`` number of listed parts (one of barriers) or of all that an assumed outfit
    has, in ``loose``. ``like`` and ``loosely`` (r,): what of either each row of Kinds has, -1 for nothing."""

    table: ByAge | None
    ages: Places
    like: Places
    loose: Alike
    loosely: Places
    usual: float


def tables_by_age(kinds: Kinds, horizon: Horizon, draws: Draws) -> dict[str, ClassByAge]:
    """Chances of every class that boats have, over a horizon."""
    learned = kinds.learned
    fleet, lives, trade = learned.fleet, learned.lives, learned.trade
    row = rows_of_items(learned)
    looks = clean_looks(fleet, installed_on(lives))
    found = {}
    for name, place in places_by(fleet.items["item_class"]).items():
        where = learned.where.iloc[place].reset_index(drop=True)
        # Listed parts are told apart by their ages alone: means are held where boats have the usual number.
        usual = 1.0 if name in barrier_needs(trade) else _usual_number(kinds, name)
        where["quantity"] = where["quantity"].where(~kinds.listed[row[place]], usual)
        gathered = gather_parts(trade.classes[name], where, lives, looks, (trade, draws))
        hours = lives.clocks[name].by_hours if name in lives.clocks else None
        parameters = drawn_parameters(name, lives.posterior[name], hours, draws)
        known = lives.posterior[name], parameters
        table = _class_by_age(kinds, name, (row[place], gathered, horizon), known)
        found[name] = replace(table, usual=usual)
    return found


def _usual_number(kinds: Kinds, name: str) -> float:
    """How many parts of a class a boat has that lists any, in whole numbers."""
    number = kinds.number[:, kinds.classes.index(name)].sum(axis=1)
    boats = kinds.boats[number > 0].sum()
    return max(round(float(number.sum()) / boats), 1.0) if boats else 1.0


def _class_by_age(
    kinds: Kinds, name: str, of: tuple[Places, Gathered, Horizon], known: tuple[Life, Parameters]
) -> ClassByAge:
    """``of``: the rows of the class's parts, these parts, and the time ahead."""
    row, gathered, horizon = of
    barrier = name in barrier_needs(kinds.learned.trade)
    number, listed = kinds.number[:, kinds.classes.index(name)], kinds.listed[row]
    ages = np.setdiff1d(np.flatnonzero(number.any(axis=0)), [UNKNOWN])
    like, loosely = (np.full(len(kinds.kind), -1) for _ in range(2))
    table = None
    if listed.any() and len(ages):
        years = kinds.age[kinds.classes.index(name), ages] / DAYS_PER_YEAR
        tabled = barrier_by_age if barrier else by_age
        table = tabled(_some(gathered, listed), *known, years, horizon.years)
        like[row[listed]] = table.like
    untold = ~listed | (number[row, UNKNOWN] > 0)
    loose = (barriers_alike if barrier else alike)(_some(gathered, untold), *known, horizon.years)
    loosely[row[untold]] = loose.like
    return ClassByAge(table, ages, like, loose, loosely, 1.0)


def _some(gathered: Gathered, rows: npt.NDArray[np.bool_]) -> Gathered:
    middle, by_draw, pace_sd = gathered
    place = np.flatnonzero(rows)
    return pick(middle, place), pick(by_draw, place), pace_sd


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

    def drawn(self, learned: Learned) -> FloatArray:
        """(items, DRAWS) chances that any of a row's parts of a class lets go."""
        found = np.empty((len(learned.fleet.items), DRAWS))
        for name, (place, row, quantity) in self._parts(learned).items():
            one, listed = self._mixed(name, row, CHANCE), self.listed[row]
            # Below one a boat it is the share of them that have one.
            carried, several = np.minimum(quantity[listed], 1.0), np.maximum(quantity[listed], 1.0)
            one[listed] = carried[:, None] * chance_of_any(one[listed], several)
            found[place] = one
        return found

    def dead(self, learned: Learned, what: str) -> dict[str, FloatArray]:
        """Per barrier class the chance (items of it, DRAWS) that none of a row's parts works: ``dead`` as things stand,
        ``dead_tested`` after a perfect test today."""
        dead = {}
        for name, (_, row, quantity) in self._parts(learned).items():
            if self.tables[name].loose.dead is not None:
                one, listed = self._mixed(name, row, what), self.listed[row]
                one[listed] = not_working(1.0 - one[listed], quantity[listed])
                dead[name] = one
        return dead

    def _parts(self, learned: Learned) -> dict[str, tuple[Places, Places, FloatArray]]:
        """By class the places of its parts, the rows they are on, and how many such a boat has."""
        row, quantity = rows_of_items(learned), learned.fleet.items["quantity"].to_numpy(dtype=float)
        places = places_by(learned.fleet.items["item_class"])
        return {name: (place, row[place], quantity[place]) for name, place in places.items()}

    def _mixed(self, name: str, row: Places, what: str) -> FloatArray:
        """(n, DRAWS) one listed part's chance over the ages it has on these rows; of assumed ones all parts'."""
        by, number = self.tables[name], self.number[row, self.classes.index(name)]
        total = np.where(self.listed[row], number.sum(axis=1), 1.0)
        unknown = np.where(self.listed[row], number[:, UNKNOWN], 1.0) / total
        loose = by.loosely[self.row[row]]
        found: FloatArray = np.zeros((len(row), DRAWS))
        some = loose >= 0
        values = getattr(by.loose, what)[loose[some]]
        renewed = ~self.listed[row[some]] & (number[some, NEW] > 0)
        values[renewed] = getattr(by.loose, RENEWED[what])[loose[some]][renewed]
        if what == CHANCE:
            values = one_of(values, np.where(self.listed[row[some]], by.usual, 1.0))
        found[some] = unknown[some, None] * values
        if by.table is not None:
            aged = np.flatnonzero(by.like[self.row[row]] >= 0)
            table = replace(by.table, like=by.like[self.row[row[aged]]])
            weight = number[aged][:, by.ages] / total[aged, None]
            found[aged] += table.mixed(getattr(table, what), weight)
        return found
