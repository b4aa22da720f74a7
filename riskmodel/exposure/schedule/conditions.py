"""What a maintenance condition on a whole schedule would change, kept by a share of its boats: no advice."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import barrier_needs
from riskmodel.exposure.conditions import (
    RENEW,
    VISITS,
    Condition,
    Priced,
    Worth,
    classes_named,
    priced,
    refuse_odd_prices,
)
from riskmodel.exposure.schedule.ages import NEW, UNKNOWN
from riskmodel.exposure.schedule.doubted import with_doubt
from riskmodel.exposure.schedule.exposed import ScheduleExposure
from riskmodel.exposure.schedule.mixing import rows_of_items
from riskmodel.exposure.schedule.priced import priced_book
from riskmodel.exposure.schedule.risks import Tests, kind_risks, mixed_risks
from riskmodel.exposure.schedule.segments import each_boat
from riskmodel.exposure.schedule.side import side_of_schedule
from riskmodel.exposure.schedule.standing_for import Kinds
from riskmodel.risk import Horizon
from riskmodel.risk.looking import look_plans, mean_detection
from riskmodel.risk.tasks import Looking, candidate_tasks
from riskmodel.trade import ItemClass
from riskmodel.units import DAYS_PER_YEAR
from riskmodel.words import counted

# No class has more plans of looks than this; what they find is not asked here.
MOST_PLANS = 12


@dataclass(frozen=True, eq=False)
class KindsKept:
    """Kinds whose boats all keep a condition: ``share`` (r,) of each row's boats that it touches, what one boat of a
    row pays (r,) [currency] in the mean, ``tests`` where barriers are tested, and what is done, ``told``."""

    kinds: Kinds
    share: FloatArray
    cost: FloatArray
    tests: Tests | None
    told: str


def price_on_schedule(
    found: ScheduleExposure, condition: Condition, compliance: float, visit_cost: float = 0.0
) -> Priced:
    """What a condition would change in the year of a schedule, and what it would cost (conditions.price_condition).

    A boat that keeps the condition with so much chance has, in each end state, the mean of both chances. Raises
    ParameterError as there.
    """
    refuse_odd_prices(compliance, visit_cost)
    kept = kinds_keeping(found, condition, visit_cost)
    result, before = found.result, found.after
    plain = kind_risks(kept.kinds, result.horizon, found.risks.states, result.seed, kept.tests)
    told = kept.share > 0 if condition.what == VISITS else np.zeros(len(kept.share), dtype=bool)
    risks = with_doubt(plain, kept.kinds, found.doubt.told_visits(told), result.seed)
    tools = result.trade, result.seed
    cover = before.part.cover
    whole = priced_book(found.counted, kept.kinds, risks, tools).book
    mixed = priced_book(found.counted, kept.kinds, mixed_risks(found.risks, risks, compliance), tools).book
    total = side_of_schedule(mixed, cover).total
    saved = before.total.mean - float(whole.mean_losses(cover).mean(axis=2).sum())
    boats = kept.kinds.boats.astype(float)
    theirs = _loss_of(found, kept.share)
    worth = Worth(kept.told, float(boats @ kept.share), float(boats @ kept.cost), saved, theirs)
    return priced(worth, compliance, before.total, total)


def kinds_keeping(found: ScheduleExposure, condition: Condition, visit_cost: float = 0.0) -> KindsKept:
    """The kinds with every boat keeping a condition. Raises ParameterError for a class of parts that there is not."""
    if condition.what == RENEW:
        return _renewed(found, condition)
    if condition.what == VISITS:
        return _visited(found, condition.number, visit_cost)
    return _tested(found, condition.number)


def _loss_of(found: ScheduleExposure, share: FloatArray) -> float:
    """Mean loss after terms of the boats touched, taken to lose as others of their rows [currency]."""
    rows = (found.priced.boats * each_boat(found)["after"]).sum(axis=1)
    return float(rows @ share)


def _renewed(found: ScheduleExposure, condition: Condition) -> KindsKept:
    """Parts over an age renewed on the first day; one whose age nobody can tell counts as over it, if it may be."""
    kinds = found.kinds
    columns = [kinds.classes.index(name) for name in classes_named(condition.name, kinds.learned.trade)]
    untold = kinds.number[:, :, UNKNOWN] + _assumed(kinds)
    whole = kinds.number.sum(axis=2) + _assumed(kinds)
    may_be = _oldest(kinds) > condition.number
    number = kinds.number.copy()
    moved = np.zeros(whole.shape)
    for column in sorted(columns):
        over = kinds.age[column] > condition.number * DAYS_PER_YEAR
        over[UNKNOWN] = False
        moved[:, column] = number[:, column, over].sum(axis=1) + may_be[:, column] * untold[:, column]
        number[:, column, over] = 0.0
        number[may_be[:, column], column, UNKNOWN] = 0.0
        number[:, column, NEW] += moved[:, column]
    unknown = float((may_be * untold)[:, columns].sum())
    told = f"{counted(round(float(moved.sum())), 'part')} ({condition.name} over {condition.number:g} years) renewed"
    told += " on the first day"
    if round(unknown):
        told += f", {round(unknown):,} of them because nobody can tell their age"
    share = np.divide(moved, whole, out=np.zeros_like(moved), where=moved > 0)
    touched = 1.0 - np.prod(1.0 - share * _carried(kinds, whole), axis=1)
    cost = _costs(found, kinds, ("renew",), share)
    return KindsKept(replace(kinds, number=number), touched, cost, None, told)


def _carried(kinds: Kinds, whole: FloatArray) -> FloatArray:
    """(r, classes) share of each row's boats that have any such part; an assumed outfit counts as on all of them."""
    each = np.minimum(whole / kinds.boats[:, None], 1.0)
    found: FloatArray = np.where(kinds.listed[:, None], each, (each > 0).astype(float))
    return found


def _assumed(kinds: Kinds) -> FloatArray:
    """(r, classes) number of parts of assumed outfits, all of unknown age."""
    row, column, quantity = _items(kinds)
    number = np.zeros(kinds.number.shape[:2])
    mine = ~kinds.listed[row]
    np.add.at(number, (row[mine], column[mine]), (quantity * kinds.boats[row])[mine])
    return number


def _oldest(kinds: Kinds) -> FloatArray:
    """(r, classes) the greatest age that parts may have [years]: their boat's."""
    row, column, _ = _items(kinds)
    found = np.full(kinds.number.shape[:2], np.inf)
    found[row, column] = kinds.learned.where["oldest"].fillna(np.inf)
    return found


def _items(kinds: Kinds) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], FloatArray]:
    """The row, the class and the number a boat of every item of Kinds."""
    items = kinds.learned.fleet.items
    column = pd.Index(kinds.classes).get_indexer(pd.Index(items["item_class"]))
    return rows_of_items(kinds.learned), column, items["quantity"].to_numpy(dtype=float)


def _visited(found: ScheduleExposure, days: float, visit_cost: float) -> KindsKept:
    kinds = found.kinds
    fleet = kinds.learned.fleet
    visited = fleet.vessels["checked_every_days"].to_numpy(dtype=float)
    now = np.minimum(visited, days)
    often = replace(fleet, vessels=fleet.vessels.assign(checked_every_days=now))
    more = found.result.horizon.years * DAYS_PER_YEAR * (1.0 / now - 1.0 / visited)
    share = (now < visited).astype(float)
    boats = kinds.boats.astype(float)
    told = (
        f"{counted(int(boats @ share), 'boat')} visited every {days:g} days, {boats @ more:,.0f} visits more"
    )
    if not visit_cost:
        told += " (not priced)"
    changed = replace(kinds, learned=replace(kinds.learned, fleet=often))
    return KindsKept(changed, share, more * visit_cost, None, told)


def _tested(found: ScheduleExposure, days: float) -> KindsKept:
    """Pumps, switches, alarms, blowers and ducts tested every so many days; what is found dead is renewed."""
    kinds, horizon = found.kinds, found.result.horizon
    trade = kinds.learned.trade
    days = min(days, horizon.years * DAYS_PER_YEAR)
    until = horizon.as_of + timedelta(days=max(round(days), 1))
    names = [name for name in kinds.classes if name in barrier_needs(trade)]
    finds = {name: _found_by_a_test(trade.classes[name], horizon.years) for name in names}
    whole = (kinds.number.sum(axis=2) + _assumed(kinds))[:, [kinds.classes.index(name) for name in names]]
    share = np.zeros(kinds.number.shape[:2])
    for name in names:
        share[:, kinds.classes.index(name)] = 1.0
    times = horizon.years * DAYS_PER_YEAR / days
    parts = float(whole.sum())
    told = f"pumps, switches, alarms, blowers and ducts tested every {days:.0f} days ({parts:,.0f} parts)"
    touched = 1.0 - np.prod(1.0 - _carried(kinds, whole), axis=1)
    cost = times * _costs(found, kinds, ("test", "inspect"), share)
    tests = Tests(Horizon(horizon.as_of, until, "between tests"), finds)
    return KindsKept(kinds, touched, cost, tests, told)


def _found_by_a_test(item_class: ItemClass, years: float) -> float:
    """Share of dead parts of a class that its best single test finds."""
    plans = [plan for plan in look_plans(item_class, years) if plan.looks == 1]
    return min(max((mean_detection(plan.task) for plan in plans), default=0.0), 1.0)


def _costs(
    found: ScheduleExposure, kinds: Kinds, does: tuple[str, ...], share: FloatArray
) -> npt.NDArray[np.float64]:
    """(r,) mean cost to one boat of each row of the cheapest such task on its parts, one lift a boat.

    ``share`` (r, classes) of its parts of each class that it is done on.
    """
    learned = kinds.learned
    items, (row, column, quantity) = learned.fleet.items, _items(kinds)
    looking = Looking(found.result.horizon.years, np.zeros((len(items), MOST_PLANS)))
    tasks = candidate_tasks(
        items, learned.where, learned.fleet.vessels, learned.hauled, learned.trade, looking
    )
    tasks = tasks[tasks["does"].isin(does) & (tasks["looks"] == 1)]
    cheapest = tasks.sort_values("cost", kind="stable").drop_duplicates("item")
    place = cheapest["item"].to_numpy(dtype=np.intp)
    row = row[place]
    done = share[row, column[place]] * np.minimum(quantity[place], 1.0)
    cost = np.bincount(row, cheapest["work"].to_numpy() * done, len(kinds.kind)).astype(float)
    lifts = np.zeros(len(kinds.kind))
    np.maximum.at(lifts, row, cheapest["haul_out"].to_numpy(dtype=float) * done)
    return cost + lifts
