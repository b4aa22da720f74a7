"""What looking buys, plan by plan: once today, or as often as the trade looks, to compete with renewal."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.life.looks import DETECTION_NODES, Looks, detection_nodes
from riskmodel.life.planned import PlannedLooks, chance_with_planned_looks
from riskmodel.risk.chances import Parameters, runs
from riskmodel.risk.parts import Parts, pick
from riskmodel.trade import ItemClass, Task

LOOKING = ("inspect", "test")
# A plan holds no more looks than this; what the trade looks at oftener is planned at even steps (judgement: more
# than six looks at one part are a habit of using the boat and not work that is asked for).
MOST_PLANNED = 6
TINY = np.finfo(float).tiny


@dataclass(frozen=True)
class LookPlan:
    """A look or test done at some places of the class's ``grid`` of even steps over the horizon, the first today."""

    task: Task
    places: tuple[int, ...]
    grid: int

    @property
    def looks(self) -> int:
        """How many looks it holds."""
        return len(self.places)


def look_interval(item_class: ItemClass) -> float:
    """Years between looks as the trade has it, the middle of its rows; infinite where it names none in years."""
    rows = [row for row in item_class.intervals if row.meaning == "look" and row.unit == "years"]
    middles = [0.5 * (math.log(row.low) + math.log(row.high)) for row in rows]
    return math.exp(sum(middles) / len(middles)) if middles else math.inf


def look_plans(item_class: ItemClass, years: float) -> tuple[LookPlan, ...]:
    """Each look or test of the class once today, and where the trade looks oftener than that in ``years``, as often.

    Work out of the water is planned at most once a year. Parts that fail unseen have one test each, today: what a
    routine of tests is worth to a barrier is not worked out.
    """
    often = 1 if item_class.fails_unseen else _fit(years / look_interval(item_class), MOST_PLANNED)
    plans = []
    for task in item_class.tasks:
        if task.does not in LOOKING:
            continue
        plans.append(LookPlan(task, (0,), often))
        several = _fit(years, often) if task.out_of_water else often
        if several > 1:
            plans.append(LookPlan(task, tuple(often * n // several for n in range(several)), often))
    return tuple(plans)


def mean_detection(task: Task) -> float:
    """Mean chance that one look or test shows what is there to find."""
    return 0.5 * ((task.detection_low or 0.0) + (task.detection_high or 0.0))


@dataclass(frozen=True)
class ByLooking:
    """Of the chance of letting go of each part: ``seen`` (n,), the share whose warning stands open today;
    ``averted`` (n, plans), the share that each plan of looks takes away. ``clean`` (n,): how likely the looks on
    record were to find nothing."""

    seen: FloatArray
    averted: FloatArray
    clean: FloatArray


def by_looking(
    plans: tuple[LookPlan, ...], parts: Parts, middle: Parameters, horizon: FloatArray
) -> ByLooking:
    """What looking finds of what lets go within ``horizon`` (n,), for parts that show their failure.

    At one ``middle`` set of parameters, by the calendar's clock and at one pace (kinds, 1): the shares hardly depend
    on the life. Looks on record count where the age is known. A part that is found and renewed may let go as a new
    one does: that much is not averted.
    """
    ahead, unknown, looked = horizon * parts.reach, parts.cell >= 0, parts.looked
    misses = _misses(plans)
    share, clean = np.zeros((len(parts.age), len(misses))), np.ones(len(parts.age))
    for some in runs(np.flatnonzero(~unknown & looked)):
        left, unplanned, clean[some] = _with_plans(
            misses, _rows(pick(parts, some), ahead[some]), parts, middle
        )
        share[some] = _averted(left, unplanned)
    known, groups = np.flatnonzero(~unknown & ~looked), _alike(parts, ahead, unknown)
    bare = _rows(replace(pick(parts, known), looks=None), ahead[known])
    left, unplanned, _ = _with_plans(misses, _with_ages(bare, parts, groups), parts, middle)
    share[known] = _averted(left[: len(known)], unplanned[: len(known)])
    for number, (here, _, _) in enumerate(groups):
        block = slice(len(known) + number * len(parts.ages), len(known) + (number + 1) * len(parts.ages))
        # Of the three shares of owners who renew in time the typical one, as the middle parameters have it.
        weight = parts.weights[parts.cell[here], middle.owner[0]]
        share[here] = _averted(weight @ left[block], weight @ unplanned[block])
    return ByLooking(share[:, 0], share[:, 1:], clean)


@dataclass(frozen=True)
class _Rows:
    """Parts, or ages that a part may have, to be worked out together."""

    age: FloatArray
    ahead: FloatArray
    speed: FloatArray
    looks: Looks | None


def _fit(number: float, most: int) -> int:
    """The whole number nearest, at least 1 and at most ``most``."""
    return max(1, round(min(number, most)))


def _misses(plans: tuple[LookPlan, ...]) -> FloatArray:
    """(1 + plans, grid, DETECTION_NODES) chance that a look misses: of a perfect look today, then of each plan."""
    miss = np.ones((1 + len(plans), plans[0].grid if plans else 1, DETECTION_NODES))
    miss[0, 0] = 0.0
    for number, plan in enumerate(plans, 1):
        low, high = plan.task.detection_low or 0.0, plan.task.detection_high or 0.0
        miss[number, plan.places] = 1.0 - detection_nodes(low, high)
    return miss


def _rows(parts: Parts, ahead: FloatArray) -> _Rows:
    looks = parts.looks
    if looks is not None:
        looks = Looks(parts.age[:, None] + looks.age, looks.miss)
    return _Rows(parts.age, ahead, parts.speed[parts.kind], looks)


def _with_ages(rows: _Rows, parts: Parts, groups: list[tuple[npt.NDArray[np.intp], float, int]]) -> _Rows:
    """The rows, and after them every age that each group of parts of unknown age may have."""
    if not groups:
        return rows
    spread = len(parts.ages)
    reach, kind = (np.repeat([group[place] for group in groups], spread) for place in (1, 2))
    return _Rows(
        np.concatenate([rows.age, np.tile(parts.ages, len(groups))]),
        np.concatenate([rows.ahead, reach]),
        np.concatenate([rows.speed, parts.speed[kind]]),
        None,
    )


def _with_plans(
    misses: FloatArray, rows: _Rows, parts: Parts, middle: Parameters
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chance left with a perfect look today and with each plan (rows, 1 + plans); with none and of clean looks so far
    (rows,). A perfect look is asked only what it finds."""
    grid = misses.shape[1]
    planned = PlannedLooks(rows.ahead[:, None] * (np.arange(grid) / grid), misses)
    found = chance_with_planned_looks(
        (rows.age, rows.ahead), rows.looks, planned, parts.windows, middle.life, rows.speed
    )
    left = found.lets_go[:, :, 0].T
    left[:, 1:] += found.renewed_lets_go[1:, :, 0].T
    return left, found.unplanned[:, 0], found.clean[:, 0]


def _averted(left: FloatArray, unplanned: FloatArray) -> FloatArray:
    share: FloatArray = np.clip(1.0 - left / np.maximum(unplanned, TINY)[:, None], 0.0, 1.0)
    return share


def _alike(
    parts: Parts, ahead: FloatArray, some: npt.NDArray[np.bool_]
) -> list[tuple[npt.NDArray[np.intp], float, int]]:
    """Parts of unknown age in groups of one time ahead and one surroundings: their places, and these two."""
    places = np.flatnonzero(some)
    keys = np.column_stack([ahead, parts.kind])[places]
    kinds, place = np.unique(keys, axis=0, return_inverse=True)
    return [(places[place.ravel() == n], float(reach), int(kind)) for n, (reach, kind) in enumerate(kinds)]
