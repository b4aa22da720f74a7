"""What comes before money: known defects, parts on paths that can kill, and boats too likely to sink."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.frames import each_row
from riskmodel.plan.budget.money import Till
from riskmodel.plan.budget.options import NOW, Ground, work_done
from riskmodel.risk import Assessment
from riskmodel.risk.frame import SINKING, any_of, danger
from riskmodel.risk.outcomes import Outcomes
from riskmodel.risk.ranking import KNOWN_DEFECT
from riskmodel.risk.worked import outcomes_of_work

DEFECT, KILL, SINK = "known defect", "can kill", "sinks"
SINKING_LIMIT = "sinking_probability"
# Rounds of choosing and recomputing for boats over the limit: single tasks add up so nearly that two do as a rule. In
# the last of them all work on the boat is tried: only where that is not enough is no work enough.
ROUNDS = 8
TINY = np.finfo(float).tiny
# A chance below any that is told: what stands in no danger is ordered by its cost.
LEAST_DANGER = 1e-12
Places = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Floor:
    """Something to be put right before money: ``kind`` (known defect, can kill, sinks), its boat and part (places;
    -1 for a whole boat), the ``limit``, the chance ``before``, as things stand with nothing done (both NaN for
    defects), the ``options`` (rows of the options frame) that meet it once what stands before it is done, and the
    ``danger``: the chance that it kills or sinks. Without options no work on the boat meets it."""

    kind: str
    vessel: int
    item: int
    limit: float
    before: float
    options: tuple[int, ...]
    danger: float = 0.0


def floors(options: pd.DataFrame, ground: Ground) -> tuple[Floor, ...]:
    """What must be done first, whatever the money, in the order in which money that does not reach all of it is spent.

    Known defects: the renewal of each. Then every part on a path that can kill whose
    chance is over the user's limit: its cheapest task today that brings it under. Then every boat whose chance of
    sinking, rain and waves counted, is over the limit: tasks taken by chance averted per cost, those not needed taken
    out again, and the whole recomputed in full until every boat is under (greedy and verified; not proved cheapest).
    Within each of the three the greatest danger for its cost comes first: a dear one does not keep cheap ones undone.
    """
    result = ground.result
    first = _defects(options, result, ground.lift)
    done = outcomes_done(options, _all(first), ground)
    first += _killing(options, done, ground, first)
    return (*first, *_sinking(options, ground, first))


def sinking_limit(result: Assessment) -> float:
    """The highest chance allowed that a boat sinks by the horizon's end: the fleet's own, else the trade's example."""
    return result.fleet.settings.sinking_limit or result.trade.limits[SINKING_LIMIT].value


def outcomes_done(options: pd.DataFrame, chosen: Iterable[int], ground: Ground) -> Outcomes:
    """End states and losses with these options (rows) done, in full."""
    return outcomes_of_work(
        ground.result, *work_done(options.loc[list(chosen)], len(ground.result.fleet.items))
    )


def sinking_of_boats(found: Outcomes, result: Assessment) -> FloatArray:
    """(vessels,) chance that each boat sinks, whoever or whatever brings it about."""
    vessel, boats = result.consequences.vessel, result.consequences.vessels
    parts = any_of(found.probability, SINKING, len(vessel))
    weather = any_of(found.background, SINKING, boats)
    total: FloatArray = np.bincount(vessel, weights=parts, minlength=boats) + weather
    return total


def reductions(options: pd.DataFrame, result: Assessment) -> FloatArray:
    """(options,) mean share of its part's chance of letting go that each takes away, on its date."""
    place, share = options["item"].to_numpy(), options["share"].to_numpy(dtype=float)
    parts = result.parts
    chance = np.maximum(parts.drawn.mean(axis=1), TINY)
    renewal = ((1.0 - np.minimum(parts.kept, 1.0)) * parts.drawn).mean(axis=1) / chance
    seen = (parts.seen * parts.drawn).mean(axis=1) / chance
    does = options["does"].to_numpy()
    looked = np.minimum(options["finds"].to_numpy(dtype=float) * seen[place], 1.0)
    taken: FloatArray = share * np.select([does == "renew", does == "adjust"], [renewal[place], 0.0], looked)
    return taken


def _all(some: Iterable[Floor]) -> list[int]:
    return [option for floor in some for option in floor.options]


def _defects(options: pd.DataFrame, result: Assessment, lift: FloatArray) -> list[Floor]:
    renewals = options[(options["does"] == "renew") & (options["when"] == NOW)].sort_values(
        "cost", kind="stable"
    )
    cheapest = renewals.drop_duplicates("item").rename_axis("row").reset_index().set_index("item")
    ranked = result.frame[result.frame["group"] == KNOWN_DEFECT].sort_values("rank")
    places = pd.Index(result.fleet.items["item_id"]).get_indexer(pd.Index(ranked["item_id"]))
    rows = each_row(cheapest.loc[places])
    dangers = dict(zip(places, danger(result.frame, result.trade)[ranked.index], strict=True))
    found = [
        Floor(DEFECT, int(row.vessel), int(row.Index), np.nan, np.nan, (int(row.row),), dangers[row.Index])
        for row in rows
    ]
    return _ordered(found, options, lift)


def _ordered(found: list[Floor], options: pd.DataFrame, lift: FloatArray) -> list[Floor]:
    """The most danger for each unit of cost first; equals by danger, then in the order they come in."""
    price = [max(Till(options, lift).together(floor.options), 1) for floor in found]
    # What endangers nobody still has its order: a floor far below every danger, so that the cheapest comes first.
    worth = [max(floor.danger, LEAST_DANGER) / cost for floor, cost in zip(found, price, strict=True)]
    order = sorted(range(len(found)), key=lambda place: (-worth[place], -found[place].danger, place))
    return [found[place] for place in order]


def _killing(options: pd.DataFrame, done: Outcomes, ground: Ground, before: list[Floor]) -> list[Floor]:
    """Parts still over the limit once the defects are put right, the likeliest first."""
    result = ground.result
    kill, stands, limit = done.kill.mean(axis=1), ground.now.kill.mean(axis=1), result.limit
    taken, till = reductions(options, result), Till(options, ground.lift)
    till.take(_all(before))
    settled = {floor.item for floor in before}
    found = []
    for item in np.flatnonzero(kill > limit)[np.argsort(-kill[kill > limit], kind="stable")]:
        mine = np.flatnonzero((options["item"] == item).to_numpy() & (options["when"] == NOW).to_numpy())
        enough = [int(row) for row in mine if kill[item] * (1.0 - taken[row]) <= limit]
        chosen = (
            () if item in settled or not enough else (min(enough, key=lambda row: till.together((row,))),)
        )
        till.take(chosen)
        vessel = int(result.consequences.vessel[item])
        danger = float(stands[item])
        found.append(Floor(KILL, vessel, int(item), limit, danger, chosen, danger))
    return _ordered(found, options, ground.lift)


def _sinking(options: pd.DataFrame, ground: Ground, before: list[Floor]) -> list[Floor]:
    """Boats over the limit once all that is done, the likeliest to sink first."""
    result, limit = ground.result, sinking_limit(ground.result)
    done = _all(before)
    start = sinking_of_boats(outcomes_done(options, done, ground), result)
    over = np.flatnonzero(start > limit)
    worth = _sinking_averted(options, ground)
    settled = set(options.loc[done, "item"])
    need = start - limit
    chosen: dict[int, tuple[int, ...]] = {int(boat): () for boat in over}
    now = start
    for number in range(1, ROUNDS + 1):
        for boat in over[now[over] > limit]:
            chosen[int(boat)] = _cover(options, worth, (int(boat), need[boat]), settled, ground)
        now = sinking_of_boats(outcomes_done(options, [*done, *_rows(chosen)], ground), result)
        if (now[over] <= limit).all():
            break
        # What single tasks promise does not quite add up: ask for as much more than these as was missing.
        promised = np.zeros(len(need))
        promised[over] = [worth[list(chosen[int(boat)])].sum() for boat in over]
        missing = np.maximum(now - limit, 0.0) * 1.05
        need = np.maximum(need, promised) + (missing if number < ROUNDS - 1 else np.inf)
    stands = sinking_of_boats(ground.now, result)
    found = [
        Floor(SINK, int(b), -1, limit, stands[b], chosen[int(b)] if now[b] <= limit else (), stands[b])
        for b in over[np.argsort(-start[over], kind="stable")]
    ]
    return _ordered(found, options, ground.lift)


def _rows(chosen: dict[int, tuple[int, ...]]) -> Iterator[int]:
    for rows in chosen.values():
        yield from rows


def _cover(
    options: pd.DataFrame,
    worth: FloatArray,
    wanted: tuple[int, float],
    settled: set[int],
    ground: Ground,
) -> tuple[int, ...]:
    """Options on one boat that promise enough together, the cheaper of two: with a lift, or with work afloat only."""
    boat, need = wanted
    today = (options["when"] == NOW).to_numpy() & ~options["item"].isin(settled).to_numpy()
    mine = today & (options["vessel"] == boat).to_numpy() & (worth > 0)
    afloat = mine & ~options["haul_out"].to_numpy(dtype=bool)
    tried = [_greedy(options, worth, need, np.flatnonzero(some), ground) for some in (afloat, mine)]
    enough = [rows for rows in tried if worth[rows].sum() >= need] or tried[1:]
    return tuple(sorted(min(enough, key=Till(options, ground.lift).together)))


def _greedy(options: pd.DataFrame, worth: FloatArray, need: float, rows: Places, ground: Ground) -> list[int]:
    """By promise per cost until there is enough, each item once; then those not needed are taken out again."""
    item, till, within = options["item"].to_numpy(), Till(options, ground.lift), rows
    taken: list[int] = []
    while len(rows) and worth[taken].sum() < need:
        price = np.array([max(till.together((row,)), 1) for row in rows])
        best = int(rows[np.argmax(np.minimum(worth[rows], need) / price)])
        taken.append(best)
        till.take([best])
        rows = rows[item[rows] != item[best]]
    taken = _upgraded(options, worth, need, taken, within, ground)
    for row in sorted(taken, key=lambda row: -int(till.cost[row])):
        rest = [each for each in taken if each != row]
        if worth[rest].sum() >= need:
            taken = rest
    return taken


def _upgraded(
    options: pd.DataFrame, worth: FloatArray, need: float, taken: list[int], within: Places, ground: Ground
) -> list[int]:
    """The same, while it promises too little, with an item's task exchanged for one of ``within`` that promises more:
    a renewal for a look; the most promise more for each unit of cost more first."""
    item, taken = options["item"].to_numpy(), list(taken)
    while worth[taken].sum() < need:
        now = {int(item[row]): row for row in taken}
        better = [int(row) for row in within if item[row] in now and worth[row] > worth[now[int(item[row])]]]
        if not better:
            return taken
        spent = Till(options, ground.lift).together(tuple(taken))

        def gain(row: int, now: dict[int, int] = now, taken: list[int] = taken, spent: int = spent) -> float:
            old = now[int(item[row])]
            other = tuple(row if each == old else each for each in taken)
            return float(worth[row] - worth[old]) / max(Till(options, ground.lift).together(other) - spent, 1)

        best = max(better, key=gain)
        taken = [best if each == now[int(item[best])] else each for each in taken]
    return taken


def _sinking_averted(options: pd.DataFrame, ground: Ground) -> FloatArray:
    """(options,) about how much each takes off its boat's chance of sinking; what is chosen by it is verified."""
    result = ground.result
    place, boat = options["item"].to_numpy(), options["vessel"].to_numpy()
    own: FloatArray = any_of(ground.now.probability, SINKING, len(result.fleet.items))[place]
    own = own * reductions(options, result)
    classes = options["item_class"].to_numpy()
    for name in result.barriers.places:
        here = classes == name
        own[here] += options["averted"].to_numpy()[here] * _sinkings_per_loss(name, ground)[boat[here]]
    return own


def _sinkings_per_loss(name: str, ground: Ground) -> FloatArray:
    """(vessels,) chance of sinking that a barrier's class averts for each unit of loss it averts."""
    losses, boats = ground.result.losses, ground.result.fleet.vessels["vessel_id"]
    sinkings: FloatArray = np.zeros(len(boats))
    money: FloatArray = np.zeros(len(boats))
    for barrier in ground.result.trade.barriers:
        guarded = ground.now.guards.get((barrier.barrier, barrier.end_state))
        if name not in barrier.needs or guarded is None:
            continue
        worth = guarded.mean(axis=1)
        money += worth
        if barrier.end_state in SINKING:
            rows = losses[losses["end_state"] == barrier.end_state].set_index("vessel_id")
            sinkings += worth / np.maximum(rows.loc[boats, "mean"].to_numpy(dtype=float), TINY)
    ratio: FloatArray = sinkings / np.maximum(money, TINY)
    return ratio


def affordable(
    found: tuple[Floor, ...], options: pd.DataFrame, lift: FloatArray, amount: int
) -> tuple[int, int]:
    """How many of the floors, from the first on, ``amount`` [cents] pays for, and what these cost [cents].

    From the first on and no further than the first that is too dear: what a smaller amount paid for, a larger one
    pays for too.
    """
    till, spent = Till(options, lift), 0
    for number, floor in enumerate(found):
        more = till.together(floor.options)
        if spent + more > amount:
            return number, spent
        till.take(floor.options)
        spent += more
    return len(found), spent
