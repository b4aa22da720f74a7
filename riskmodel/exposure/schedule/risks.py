"""What may happen to one boat of every kind, draw by draw: the kinds assessed, some at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.exposure.book import drawn_prices, exclusive_groups, grown_outcomes
from riskmodel.exposure.exclusive import competing
from riskmodel.exposure.schedule.mixing import Mix, Tables, tables_by_age
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.frames import places_by
from riskmodel.risk import Horizon
from riskmodel.risk.assess import fleet_consequences
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.learned import only_boats
from riskmodel.risk.outcomes import Consequences, Outcomes, outcomes, sums_by, uncorrelated
from riskmodel.risk.working import any_working
from riskmodel.trade import Trade

# Kinds assessed at a time: memory stays flat.
AT_ONCE = 500
TINY = np.finfo(float).tiny


@dataclass(frozen=True, eq=False)
class KindRisks:
    """One boat of each row of Kinds: the chance ``alone`` (r, K, DRAWS) of each of ``states`` over the horizon.

    ``held`` (r, T, DRAWS): that of total losses, which exclude each other. ``growth`` (r, DRAWS) by end state: factors
    on what it costs, for losses that grow with the time undetected. ``priced`` (r, K): what its mean loss is, as if
    total losses did not exclude each other, for each unit of the end state's mean price: no doubt moves it. ``brought``
    (r, K, classes + 1): the mean chance by the class of part that brings it about, last what no part does; of an end
    state whose losses grow, the mean loss.
    """

    states: tuple[str, ...]
    alone: FloatArray
    held: FloatArray
    growth: Mapping[str, FloatArray]
    priced: FloatArray
    brought: FloatArray

    def chance(self, place: int, rows: slice = slice(None)) -> FloatArray:
        """(rows, DRAWS) the chance of the end state at a place, total losses excluding each other."""
        total = exclusive_groups(self.states)[0]
        return self.held[rows, total.index(place)] if place in total else self.alone[rows, place]

    @property
    def dearer(self) -> FloatArray:
        """(r, K) by how much the mean loss has grown beside the mean price."""
        alone = self.alone.mean(axis=2)
        found: FloatArray = np.divide(self.priced, alone, out=np.ones_like(alone), where=alone > TINY)
        return found

    @property
    def mean_chance(self) -> FloatArray:
        """(r, K) means of those over the draws."""
        return np.stack([self.chance(place).mean(axis=1) for place in range(len(self.states))], axis=1)


@dataclass(frozen=True, eq=False)
class Tests:
    """Barriers tested at the end of each ``interval``, of which a test finds the share ``finds`` by class."""

    interval: Horizon
    finds: Mapping[str, float]


@dataclass(frozen=True, eq=False)
class _Tools:
    """What every block of rows is worked out with; ``between``: the tables over the interval of ``tests``."""

    horizon: Horizon
    tables: Tables
    tests: Tests | None
    between: Tables
    seed: int


@dataclass(frozen=True, eq=False)
class _Worked:
    consequences: Consequences
    trade: Trade
    seed: int


@dataclass(frozen=True, eq=False)
class _Block:
    """What comes of some rows: ``found``; by end state whose losses grow, the same of it alone, ``told``, and what
    KindRisks has as ``growth`` (rows, DRAWS) and ``priced`` (rows,), ``grown``; and of each part its ``row`` and its
    class's ``column``."""

    found: Outcomes
    told: Mapping[str, Outcomes]
    grown: Mapping[str, tuple[FloatArray, FloatArray]]
    row: npt.NDArray[np.intp]
    column: npt.NDArray[np.intp]


def kind_risks(
    kinds: Kinds, horizon: Horizon, states: tuple[str, ...], seed: int, tests: Tests | None = None
) -> KindRisks:
    """The risks of every row of Kinds; with ``tests`` of its barriers the whole time ahead."""
    draws = Draws(seed)
    between = tables_by_age(kinds, tests.interval, draws) if tests else {}
    tools = _Tools(horizon, tables_by_age(kinds, horizon, draws), tests, between, seed)
    rows = len(kinds.kind)
    alone, priced = np.zeros((rows, len(states), DRAWS)), np.zeros((rows, len(states)))
    growth: dict[str, FloatArray] = {}
    brought = np.zeros((*priced.shape, len(kinds.classes) + 1))
    for some in blocks(rows):
        block = _block(kinds, some, tools)
        for place, name in enumerate(states):
            if name in block.found.boats:
                alone[some, place] = np.minimum(block.found.boats[name], 1.0)
            brought[some, place] = _brought(block, name, len(kinds.classes))
        priced[some] = alone[some].mean(axis=2)
        for name, (factor, worth) in block.grown.items():
            growth.setdefault(name, np.ones((rows, DRAWS)))[some] = factor
            priced[some, states.index(name)] = worth
    return KindRisks(states, alone, total_losses(alone, states), growth, priced, brought)


def total_losses(alone: FloatArray, states: tuple[str, ...]) -> FloatArray:
    """(r, T, DRAWS) chances of total losses by themselves, (r, K, DRAWS), once they exclude each other."""
    total = list(exclusive_groups(states)[0])
    return competing(alone[:, total], range(len(total)))


def mixed_risks(one: KindRisks, other: KindRisks, share: float) -> KindRisks:
    """Boats of which the ``share`` is as in the other, by chance."""
    alone, held, priced, brought = (
        (1.0 - share) * getattr(one, name) + share * getattr(other, name)
        for name in ("alone", "held", "priced", "brought")
    )
    growth = {}
    for name in {**one.growth, **other.growth}:
        place = one.states.index(name)
        cost = (1.0 - share) * one.alone[:, place] * one.growth.get(name, 1.0)
        cost += share * other.alone[:, place] * other.growth.get(name, 1.0)
        whole = alone[:, place]
        growth[name] = np.divide(cost, whole, out=np.ones_like(cost), where=whole > TINY)
    return KindRisks(one.states, alone, held, growth, priced, brought)


def blocks(rows: int) -> Iterator[slice]:
    """So many rows at a time that what is worked on stays small."""
    for start in range(0, rows, AT_ONCE):
        yield slice(start, min(start + AT_ONCE, rows))


def _block(kinds: Kinds, some: slice, tools: _Tools) -> _Block:
    learned = only_boats(kinds.learned, frozenset(kinds.learned.fleet.vessels["vessel_id"].iloc[some]))
    draws, trade = Draws(tools.seed), learned.trade
    consequences = fleet_consequences(learned.fleet, tools.horizon, trade)
    row = np.arange(some.start, some.stop)
    mix = Mix(kinds.number[some], kinds.classes, kinds.listed[some], tools.tables, row)
    drawn, dead = mix.drawn(learned), mix.dead(learned, "dead")
    if tools.tests is not None:
        often = replace(mix, tables=tools.between)
        soon, after = (often.dead(learned, what) for what in ("dead", "dead_tested"))
        dead = _tested((dead, soon, after), tools.tests.finds)
    places = places_by(learned.fleet.items["item_class"])
    working = {
        name: any_working(each, consequences.vessel[places[name]], consequences.vessels)
        for name, each in dead.items()
    }
    found = outcomes(drawn, consequences, working, trade, draws)
    told = grown_outcomes(_Worked(consequences, trade, tools.seed), drawn, working)
    grown = {name: _grown(name, each, found, consequences, draws) for name, each in told.items()}
    column = pd.Index(kinds.classes).get_indexer(pd.Index(learned.fleet.items["item_class"]))
    return _Block(found, told, grown, consequences.vessel, column.astype(np.intp))


def _grown(
    name: str, told: Outcomes, found: Outcomes, consequences: Consequences, draws: Draws
) -> tuple[FloatArray, FloatArray]:
    """(rows, DRAWS) by how much losses of an end state have grown, beside the price it has at once; and (rows,) the
    mean loss in units of that price."""
    losses = consequences.losses[consequences.losses["end_state"] == name]
    price = drawn_prices(draws, losses, (name,))[:, 0]
    cost = sums_by(told.loss, consequences.vessel, consequences.vessels) + told.background_loss[:, None]
    plain = uncorrelated(found.boats[name], price)
    factor = np.divide(cost, plain, out=np.ones_like(cost), where=plain > TINY)
    return factor, cost.mean(axis=1) / price.mean(axis=1)


def _tested(dead: tuple[Mapping[str, FloatArray], ...], finds: Mapping[str, float]) -> dict[str, FloatArray]:
    """Chances that none works once tests are kept up: the mean over one interval after a test, never worse than now.

    ``dead``: now over the horizon, over an interval from today, and over one after a perfect test today.
    """
    now, soon, after = dead
    return {
        name: np.minimum(soon[name] + finds.get(name, 0.0) * (after[name] - soon[name]), each)
        for name, each in now.items()
    }


def _brought(block: _Block, name: str, classes: int) -> FloatArray:
    """(rows, classes + 1) mean chance of an end state by the class that brings it about, last what no part does; of one
    whose losses grow, the mean loss."""
    rows = len(next(iter(block.found.boats.values())))
    by = np.zeros((rows, classes + 1))
    told = block.told.get(name)
    if told is not None:
        np.add.at(by, (block.row, block.column), told.loss.mean(axis=1))
        by[:, -1] = told.background_loss
        return by
    if name in block.found.probability:
        np.add.at(by, (block.row, block.column), block.found.probability[name])
    if name in block.found.background:
        by[:, -1] = block.found.background[name]
    return by
