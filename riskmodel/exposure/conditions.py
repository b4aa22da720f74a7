"""What a maintenance condition on a whole book would change, kept by a share of its boats: an estimate, no advice."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.exposure.book import boat_counts, book_with, state_costs
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.doubt import Doubt
from riskmodel.exposure.exposed import WORST, Exposure, total_of
from riskmodel.exposure.groups import Part
from riskmodel.exposure.lattice import Lattice
from riskmodel.exposure.otherwise import otherwise
from riskmodel.exposure.years import lattice_for, years_of
from riskmodel.risk import Assessment, Horizon
from riskmodel.risk.assess import assess_by_draws
from riskmodel.risk.draws import Draws
from riskmodel.risk.outcomes import outcomes
from riskmodel.risk.working import any_working
from riskmodel.trade import Trade
from riskmodel.units import DAYS_PER_YEAR
from riskmodel.words import counted

RENEW, VISITS, TESTS = "renew", "visits", "tests"
# Days between, for the words people use.
OFTEN = {"daily": 1, "weekly": 7, "fortnightly": 14, "monthly": 30, "quarterly": 91, "yearly": 365}
FORM = f"must be renew=CLASS>YEARS, visits=DAYS or tests=DAYS (or a word for DAYS: {', '.join(OFTEN)})"
OLDER = re.compile(r"^(?P<name>[^>]+?)\s*>\s*(?P<years>[^>]+)$")


@dataclass(frozen=True)
class Condition:
    """``what`` (RENEW, VISITS or TESTS), of which class of parts or word in one (``name``), over which age [years] or
    at least how often [days] (``number``)."""

    what: str
    name: str
    number: float


@dataclass(frozen=True, eq=False)
class Kept:
    """A book whose boats all keep a condition: the assessment, chances and barriers it goes by, the rows it
    ``touches`` (n,), what one boat of each pays for it (n,) [currency] and what is done, ``told`` in words."""

    result: Assessment
    chance: FloatArray
    working: dict[str, FloatArray]
    touches: npt.NDArray[np.bool_]
    cost: FloatArray
    told: str


@dataclass(frozen=True, eq=False)
class Priced:
    """A condition's worth at a ``compliance``: each boat it touches keeps it with that chance, whatever the others do.

    ``total``: the year's loss after terms; ``mean_before, mean_after``; ``tail_before, tail_after``: the mean of the
    worst year in WORST. ``cost``: what the boats that keep it pay. ``credit``: premium for one boat that keeps it at
    which the book breaks even, and as a share of the mean loss of the boats touched (``credit_share``). In currency.
    """

    told: str
    compliance: float
    boats: int
    total: LossDistribution
    mean_before: float
    mean_after: float
    tail_before: float
    tail_after: float
    cost: float
    credit: float
    credit_share: float


@dataclass(frozen=True)
class Worth:
    """What a condition does when every boat keeps it: ``told`` in words, ``boats`` touched, and in currency what they
    all pay, ``cost``, what they no longer lose, ``saved``, and what they lose without it, ``theirs``."""

    told: str
    boats: float
    cost: float
    saved: float
    theirs: float


def read_condition(text: str) -> Condition:
    """A condition from its words; raises ParameterError for words of another form."""
    what, sign, rest = (part.strip() for part in text.partition("="))
    if sign and what in (VISITS, TESTS):
        days = float(OFTEN[rest]) if rest in OFTEN else _number(text, rest)
        if days >= 1:
            return Condition(what, "", days)
    found = OLDER.match(rest)
    if what == RENEW and found:
        return Condition(what, found["name"].strip(), _number(text, found["years"]))
    raise ParameterError(f"--condition {FORM}, got {text!r}")


def price_condition(
    exposure: Exposure, condition: Condition, compliance: float, visit_cost: float = 0.0
) -> Priced:
    """What a condition would change in the year's loss after terms, and what it would cost.

    ``visit_cost`` [currency]: of one visit more. Boats that do not keep the condition stay as they are. Chances follow
    from work done on the first day (renewals), or kept up over the time ahead (visits, tests).

    Raises
    ------
    ParameterError
        For a compliance outside 0 to 1, a visit cost below 0, or a class of parts that there is not.
    """
    refuse_odd_prices(compliance, visit_cost)
    kept = keeping(exposure.result, condition, visit_cost)
    boats = outcomes(
        kept.chance, kept.result.consequences, kept.working, kept.result.trade, Draws(kept.result.seed)
    ).boats
    costs = state_costs(kept.result, kept.chance, kept.working)
    book = exposure.recalibrated(book_with(kept.result, boats, costs, _doubt(exposure, condition, kept)))
    before, cover = exposure.after, exposure.after.part.cover
    places = None if exposure.spells is None else exposure.spells.places(book)
    sides = [
        Part(exposure.book, cover, 1.0 - compliance, before.part.places),
        Part(book, cover, compliance, places),
    ]
    parts = [part for part in sides if part.share > 0]
    total = total_of(parts, years_of(parts, _common(before.years.lattice, parts)))
    saved = float((before.mean - book.mean_losses(cover).mean(axis=2))[kept.touches].sum())
    count, theirs = exposure.book.count, float(before.mean[kept.touches].sum())
    worth = Worth(kept.told, float(count[kept.touches].sum()), float(count @ kept.cost), saved, theirs)
    return priced(worth, compliance, before.total, total)


def priced(worth: Worth, compliance: float, before: LossDistribution, after: LossDistribution) -> Priced:
    """A condition priced: the year's loss without it, ``before``, and kept at a compliance, ``after``."""
    worst = 1.0 - 1.0 / WORST
    return Priced(
        told=worth.told,
        compliance=compliance,
        boats=round(worth.boats),
        total=after,
        mean_before=before.mean,
        mean_after=after.mean,
        tail_before=float(before.tail_mean(worst)),
        tail_after=float(after.tail_mean(worst)),
        cost=compliance * worth.cost,
        credit=worth.saved / worth.boats if worth.boats else 0.0,
        credit_share=worth.saved / worth.theirs if worth.theirs > 0 else 0.0,
    )


def refuse_odd_prices(compliance: float, visit_cost: float) -> None:
    """Raises ParameterError for a compliance outside 0 to 1, or a cost of a visit below 0."""
    if not 0 <= compliance <= 1:
        raise ParameterError(f"compliance must lie in 0 to 1, got {compliance:g}")
    if not 0 <= visit_cost < np.inf:
        raise ParameterError(f"visit_cost must be 0 or more, got {visit_cost:g}")


def _doubt(exposure: Exposure, condition: Condition, kept: Kept) -> Doubt:
    """The doubt left about boats that keep a condition: how often they are visited is then told.

    Claims have moved each draw with that doubt in it, so that it goes out of the draws as far as they tell; taken out
    beforehand it would leave what they moved against it.
    """
    if condition.what != VISITS or exposure.recalibration is not None:
        return exposure.doubt
    return exposure.doubt.told_visits(kept.touches)


def keeping(result: Assessment, condition: Condition, visit_cost: float = 0.0) -> Kept:
    """The fleet with every boat keeping a condition. Raises ParameterError for a class of parts that there is not."""
    if condition.what == RENEW:
        return _renewed(result, condition)
    return (
        _visited(result, condition.number, visit_cost)
        if condition.what == VISITS
        else _tested(result, condition.number)
    )


def _renewed(result: Assessment, condition: Condition) -> Kept:
    """Parts over an age renewed today; one whose age nobody can tell counts as over it, if it may be."""
    name, items = condition.name, result.fleet.items
    classes = classes_named(name, result.trade)
    age = result.standing["age_years"].fillna(result.standing["oldest"]).fillna(np.inf).to_numpy(dtype=float)
    renewed = items["item_class"].isin(classes).to_numpy() & (age > condition.number)
    left = np.where(renewed[:, None], np.minimum(result.parts.kept, 1.0), 1.0)
    dead = {
        each: np.where(
            renewed[place, None], result.barriers.ready[each].dead_renewed, result.barriers.ready[each].dead
        )
        for each, place in result.barriers.places.items()
    }
    unknown = int((renewed & result.standing["age_years"].isna().to_numpy()).sum())
    told = f"{counted(int(renewed.sum()), 'part')} ({name} over {condition.number:g} years) renewed on the first day"
    if unknown:
        told += f", {unknown} of them because nobody can tell their age"
    return Kept(
        result=result,
        chance=np.minimum(result.parts.drawn * left, 1.0),
        working=_working(result, dead),
        touches=_boats_of(result, renewed),
        cost=_task_costs(result, renewed, np.array(["renew"])),
        told=told,
    )


def _visited(result: Assessment, days: float, visit_cost: float) -> Kept:
    """Every boat seen to at least every so many days, the whole time ahead."""
    fleet = result.fleet
    visited = fleet.vessels["checked_every_days"].to_numpy(dtype=float)
    now = np.minimum(visited, days)
    vessels = fleet.vessels.assign(checked_every_days=now)
    periods = fleet.periods.assign(visited_every_days=np.minimum(fleet.periods["visited_every_days"], days))
    after = otherwise(result, replace(fleet, vessels=vessels, periods=periods))
    more = result.horizon.years * DAYS_PER_YEAR * (1.0 / now - 1.0 / visited)
    touches = now < visited
    count = boat_counts(fleet.vessels)
    told = f"{counted(int(count[touches].sum()), 'boat')} visited every {days:g} days, {count @ more:,.0f} visits more"
    if not visit_cost:
        told += " (not priced)"
    return Kept(after, after.parts.drawn, dict(after.barriers.working), touches, more * visit_cost, told)


def _tested(result: Assessment, days: float) -> Kept:
    """Pumps, switches, alarms, blowers and ducts tested every so many days; what is found dead is renewed.

    How ready they are is the mean over one interval after a test, as they age by its middle in the first of them.
    """
    days = min(days, result.horizon.years * DAYS_PER_YEAR)
    until = result.horizon.as_of + timedelta(days=max(round(days), 1))
    interval = assess_by_draws(
        result.learned, Horizon(result.horizon.as_of, until, "between tests"), result.seed
    )
    tests = result.tasks[result.tasks["does"].isin(("test", "inspect")) & (result.tasks["looks"] == 1)]
    finds = (
        tests.groupby("item")["finds"].max().reindex(range(len(result.fleet.items))).fillna(0.0).to_numpy()
    )
    gone = result.standing["let_go"].to_numpy()
    dead, tested = {}, np.zeros(len(gone), dtype=bool)
    for name, place in result.barriers.places.items():
        ready = interval.barriers.ready[name]
        found = ready.dead + np.minimum(finds[place, None], 1.0) * (ready.dead_tested - ready.dead)
        best = np.where(gone[place, None], ready.dead_renewed, found)
        # Tests of parts that hardly age leave them as they are, never worse.
        dead[name] = np.minimum(best, result.barriers.ready[name].dead)
        tested[place] = True
    times = result.horizon.years * DAYS_PER_YEAR / days
    told = f"pumps, switches, alarms, blowers and ducts tested every {days:.0f} days ({int(tested.sum()):,} parts)"
    cost = times * _task_costs(result, tested, np.array(["test", "inspect"]))
    return Kept(result, result.parts.drawn, _working(result, dead), _boats_of(result, tested), cost, told)


def classes_named(name: str, trade: Trade) -> set[str]:
    """Classes of that name, or with that word in theirs. Raises ParameterError where there is none."""
    found = {each for each in trade.classes if each == name or name in each.split("_")}
    if not found:
        raise ParameterError(f"--condition renew must name a class of parts or a word in one, got {name!r}")
    return found


def _working(result: Assessment, dead: dict[str, FloatArray]) -> dict[str, FloatArray]:
    whole = result.consequences
    return {
        name: any_working(dead[name], whole.vessel[place], whole.vessels)
        for name, place in result.barriers.places.items()
    }


def _boats_of(result: Assessment, parts: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    found: npt.NDArray[np.bool_] = np.bincount(
        result.consequences.vessel[parts], minlength=result.consequences.vessels
    ).astype(bool)
    return found


def _task_costs(result: Assessment, parts: npt.NDArray[np.bool_], does: npt.NDArray[np.str_]) -> FloatArray:
    """(n,) cost to each boat of one such task on each of its ``parts``, one lift a boat; of a share of a part, that."""
    tasks = result.tasks[result.tasks["does"].isin(does) & (result.tasks["looks"] == 1)]
    cheapest = tasks.sort_values("cost", kind="stable").drop_duplicates("item")
    place = cheapest["item"].to_numpy(dtype=np.intp)
    mine = parts[place]
    place, cheapest = place[mine], cheapest[mine]
    carried = np.minimum(result.fleet.items["quantity"].to_numpy(dtype=float)[place], 1.0)
    boats, boat = result.consequences.vessels, result.consequences.vessel[place]
    cost: FloatArray = np.bincount(boat, cheapest["work"] * carried, minlength=boats).astype(float)
    lifts = np.zeros(boats)
    np.maximum.at(lifts, boat, cheapest["haul_out"].to_numpy(dtype=float) * carried)
    return cost + lifts


def _common(lattice: Lattice, parts: list[Part]) -> Lattice:
    """The lattice of the book as it is, where the other fits in it: then no difference is one of lattices."""
    other = lattice_for(parts)
    fits = other.first * other.step >= lattice.first * lattice.step and other.losses[-1] <= lattice.losses[-1]
    return lattice if fits else other


def _number(text: str, words: str) -> float:
    try:
        number = float(words)
    except ValueError:
        number = -1.0
    if not 0 <= number < np.inf:
        raise ParameterError(f"--condition {FORM}, got {text!r}")
    return number
