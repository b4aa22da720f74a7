"""What a failed part slowly does to the boat until somebody sees it: wet core, scored shafts, rust, pitting."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.consequence.follow import Follow, whatever_works
from riskmodel.consequence.quantities import MOST, drawn
from riskmodel.consequence.slow.growth import Growth, chance_damaged, expected_damage, grown
from riskmodel.consequence.slow.judged import growth_factor, measured
from riskmodel.consequence.slow.undetected import Looks, hidden_months, noticing_rate
from riskmodel.consequence.slow.wetting import share_of_deck_repair
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade
from riskmodel.trade.crosscheck_slow import LOOKED
from riskmodel.trade.physics import SlowDamage
from riskmodel.trade.physics_rules import RUNNING, WATER

# Columns of the share of a boat's year in which it is launched, and in which it is used.
WATER_SHARE, RUNNING_SHARE = "launched_share", "used_share"
USES = (
    *("item_class", "core", "climate", "water", "kept", "propulsion", "length_m", "checked_every_days"),
    *(WATER_SHARE, RUNNING_SHARE),
)
# Chances below this are of what does not happen; damage over them is a quotient of rounding errors.
NEVER = 1e-9
# Months after which an expectation counts as final: fifty years, longer than boats are kept.
LONGEST_MONTHS = 600.0
STEPS = (
    "at_work",
    *("reached", "delay_months", "least", "a_month", "most"),
    *("look_every_months", "seen", "months_unseen"),
)


@dataclass(frozen=True)
class SlowCase:
    """One class's damage in n kinds of boat (n, S): the share of failures that harm, its growth, and its looks.

    ``at_work`` (n, 1): the share of the year that has what the damage needs. The growth is by the calendar: with
    water round the boat for half the year it begins after twice the months unseen and goes half as fast.
    """

    at_work: FloatArray
    reached: FloatArray
    growth: Growth
    looks: Looks


def slow_pairs(trade: Trade) -> tuple[tuple[str, str], ...]:
    """The pairs of class and end state that grow with time; every other stays with the table of paths."""
    return tuple(dict.fromkeys((row.item_class, row.end_state) for row in trade.slow_damage))


def slow_classes(trade: Trade) -> frozenset[str]:
    """The classes this area answers for."""
    return frozenset(name for name, _ in slow_pairs(trade))


def slow_needs(trade: Trade) -> dict[tuple[str, str], str]:
    """What the damage of each such pair does nothing without: "water", "running" or "nothing"."""
    return {(row.item_class, row.end_state): row.needs for row in trade.slow_damage}


def slow_follows(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> dict[str, Follow]:
    """What the kinds (n rows with the columns of USES) come to by end state, whatever barriers work.

    The chance is that of damage having begun before the failure is seen; the loss factor is its mean size then,
    against the end state's reference loss. Source of the growth: ``data/trade/slow_damage.csv``.
    """
    shape = (len(kinds), cube.count)
    chances = {state: np.zeros(shape) for _, state in slow_pairs(trade)}
    factors = {state: np.ones(shape) for state in chances}
    for state, place, case in _cases(kinds, trade, cube):
        chance = chance_damaged(case.growth, case.looks)
        # Where somebody is as good as always there nothing is left to be found: no damage, at whatever size.
        left = (chance > NEVER) & (case.at_work > 0)
        chances[state][place] = np.where(left, case.reached * chance, 0.0)
        harm = expected_damage(case.growth, case.looks)
        factors[state][place] = np.divide(harm, chance, out=np.ones_like(harm), where=left)
    return {state: Follow(whatever_works(chances[state]).chance, factors[state]) for state in chances}


def loss_growth(months: FloatArray, kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, m) mean damage when a failure is found after ``months`` (m,), against the end state's reference loss.

    The difference of two columns is what the delay between them costs. 0 for classes whose damage does not grow.

    Raises ParameterError for months below 0.
    """
    after = not_negative("months", months)
    found = np.zeros((len(kinds), len(after)))
    for _, place, case in _cases(kinds, trade, cube):
        for column, month in enumerate(after):
            grew = np.where(case.at_work > 0, case.reached * grown(month, case.growth), 0.0)
            found[place, column] = np.mean(grew, axis=1)
    return found


def slow_steps(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> pd.DataFrame:
    """The means behind each kind (n rows, its index kept), for ``explain``; nan for classes that do not grow.

    ``at_work`` as in SlowCase; ``reached, delay_months, least, a_month, most`` as in Growth, by the calendar;
    ``look_every_months, seen`` (by one look) and ``months_unseen``, from letting go to somebody's seeing it.
    """
    steps = pd.DataFrame(math.nan, index=kinds.index, columns=list(STEPS))
    for _, place, case in _cases(kinds, trade, cube):
        growth, looks = case.growth, case.looks
        unseen = hidden_months(np.array(LONGEST_MONTHS), looks)
        each = (case.at_work, case.reached, growth.delay_months, growth.least, growth.a_month, growth.most)
        for column, values in enumerate((*each, looks.every_months, looks.chance, unseen)):
            steps.iloc[place, column] = values.mean(axis=1)
    return steps


def _cases(
    kinds: pd.DataFrame, trade: Trade, cube: Hypercube
) -> Iterator[tuple[str, npt.NDArray[np.intp], SlowCase]]:
    """Each pair that occurs among the kinds: its end state, the kinds' places and the case."""
    for name, state in slow_pairs(trade):
        place = np.flatnonzero((kinds["item_class"] == name).to_numpy())
        if len(place):
            rows = [row for row in trade.slow_damage if (row.item_class, row.end_state) == (name, state)]
            yield state, place, _case(rows, kinds.iloc[place], trade, cube)


def _case(rows: Sequence[SlowDamage], kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> SlowCase:
    a_month = measured(rows, "growth", kinds, cube) * growth_factor(rows, kinds, cube)
    most = measured(rows, "most", kinds, cube)
    if any(row.unit == "m2" for row in rows):
        length = kinds["length_m"].to_numpy(dtype=float)[:, None]
        per_metre = drawn("slow_deck_area_per_metre", trade, cube)
        a_month = share_of_deck_repair(a_month, length, per_metre)
        most = share_of_deck_repair(most, length, per_metre)
    delay, least = (measured(rows, name, kinds, cube) for name in ("delay", "least"))
    reached = np.minimum(measured(rows, "reached", kinds, cube), MOST)
    at_work = _at_work(rows[0].needs, kinds)
    pace = np.where(at_work > 0, at_work, 1.0)
    growth = Growth(delay / pace, least, a_month * pace, most)
    return SlowCase(at_work, reached, growth, _looks(rows, kinds, trade, cube))


def _at_work(needs: str, kinds: pd.DataFrame) -> FloatArray:
    """(n, 1) share of each kind's year that has what the damage needs."""
    column = {WATER: WATER_SHARE, RUNNING: RUNNING_SHARE}.get(needs)
    share: FloatArray = kinds[column].to_numpy(dtype=float) if column else np.ones(len(kinds))
    return share[:, None]


def _looks(rows: Sequence[SlowDamage], kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Looks:
    """Looks at the advised interval, stretched by an ordinary keeper, and visits with the days between them."""
    item_class = trade.classes[rows[0].item_class]
    advised = [math.sqrt(row.low * row.high) for row in item_class.intervals if row.meaning == "look"]
    every = 12.0 * float(np.mean(advised)) * drawn("slow_look_lateness", trade, cube)
    low, high = item_class.detection[LOOKED]
    seen = cube.between(f"slow/{item_class.item_class}/seen", np.array([low]), np.array([high]))
    days = kinds["checked_every_days"].to_numpy(dtype=float)[:, None]
    noticed = np.minimum(measured(rows, "noticed", kinds, cube), MOST)
    return Looks(np.broadcast_to(every, noticed.shape), np.minimum(seen, MOST), noticing_rate(noticed, days))
