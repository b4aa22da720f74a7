"""What upkeep of one class costs on a group of boats: a look, a renewal in time, one that cannot wait, a failure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.plan.intervals.guarding import loss_while_dead
from riskmodel.risk import Assessment
from riskmodel.risk.haul_out import OUT_ALREADY, haul_out_costs, hauled_yearly
from riskmodel.trade import ItemClass, Task, task_cost

# A boat that is hauled about yearly is lifted out once and put in once: two occasions to look ashore for nothing.
OCCASIONS = 2.0


@dataclass(frozen=True)
class PartMoney:
    """What money is worked out from, part by part (n,).

    ``number``: how many like parts a row stands for; ``length``: of its boat [m]; ``lift``: what one costs it, 0 for a
    boat that lives ashore; ``yearly``: 1 where it is hauled about yearly anyway; ``own_cost``: the keeper's figure for
    renewing one, NaN none; ``loss``: mean loss once one lets go, all end states, barriers as they are, before
    insurance; ``while_dead``: a year, of a barrier part that is dead unseen.
    """

    number: FloatArray
    length: FloatArray
    lift: FloatArray
    yearly: FloatArray
    own_cost: FloatArray
    loss: FloatArray
    while_dead: FloatArray

    def at(self, place: npt.NDArray[np.intp]) -> PartMoney:
        """The parts at these places."""
        return PartMoney(**{name: values[place] for name, values in vars(self).items()})

    def mean(self, values: FloatArray) -> float:
        """Mean over the parts, each row counting for as many as it stands for."""
        return float(np.average(values, weights=self.number))


@dataclass(frozen=True)
class UpkeepCosts:
    """Money for one part of a class, the mean over a group of parts.

    ``planned``: renewed in time, at a lift that is made anyway where the boat has one; ``at_once``: renewed as soon as
    it is found, the lift its own; ``loss`` and ``while_dead`` as in PartMoney.
    """

    planned: float
    at_once: float
    loss: float
    while_dead: float

    @property
    def failure(self) -> float:
        """A failure that shows itself: its loss and its renewal."""
        return self.loss + self.at_once


@dataclass(frozen=True)
class LookCosts:
    """Money for looking at one part of a class, the mean over a group: ``each`` look, and the ``lift`` it asks for on
    boats that are hauled yearly anyway (``yearly``, past their occasions) and on those that are not (``other``)."""

    each: float
    yearly: float
    other: float

    def per_year(self, looks: float) -> float:
        """Money a year for so many looks a year."""
        return looks * (self.each + self.other) + max(looks - OCCASIONS, 0.0) * self.yearly


def part_money(result: Assessment) -> PartMoney:
    """Of every part of a fleet, in the order of its items."""
    items, boats = result.fleet.items, result.fleet.vessels.set_index("vessel_id")
    length = items["vessel_id"].map(boats["length_m"]).to_numpy(dtype=float)
    dry = items["vessel_id"].map(boats["kept"]).isin(OUT_ALREADY).to_numpy()
    yearly = items["vessel_id"].isin(hauled_yearly(result.fleet, result.horizon.as_of)).to_numpy()
    number = items["quantity"].to_numpy(dtype=float)
    frame = result.frame.set_index("item_id").loc[items["item_id"]]
    tiny = np.finfo(float).tiny
    chance = np.maximum(frame["failure_probability"].to_numpy(), tiny)
    return PartMoney(
        number=np.maximum(number, tiny),
        length=length,
        lift=np.where(dry, 0.0, haul_out_costs(length, result.trade)),
        yearly=np.where(yearly, 1.0, 0.0),
        own_cost=items["renew_cost"].to_numpy(dtype=float) / np.maximum(number, 1.0),
        loss=frame["expected_loss"].to_numpy() / chance,
        while_dead=loss_while_dead(result),
    )


def upkeep_costs(item_class: ItemClass, parts: PartMoney) -> UpkeepCosts:
    """Costs of one part of the class, the mean over ``parts``. Of several ways to renew the cheapest is meant."""
    ways = []
    for task in (each for each in item_class.tasks if each.does == "renew"):
        work = np.where(np.isfinite(parts.own_cost), parts.own_cost, middle_cost(task, parts.length))
        lift = parts.lift * task.out_of_water
        # Like parts that are renewed in time share the lift; what fails does so alone.
        in_time = work + lift * (1.0 - parts.yearly) / np.maximum(parts.number, 1.0)
        ways.append((parts.mean(in_time), parts.mean(work + lift)))
    return UpkeepCosts(*min(ways), parts.mean(parts.loss), parts.mean(parts.while_dead))


def look_costs(task: Task, parts: PartMoney) -> LookCosts:
    """Costs of looking at one part by ``task``, the mean over ``parts``; like parts share a lift."""
    lift = parts.lift * task.out_of_water / np.maximum(parts.number, 1.0)
    return LookCosts(
        parts.mean(middle_cost(task, parts.length)),
        parts.mean(lift * parts.yearly),
        parts.mean(lift * (1.0 - parts.yearly)),
    )


def middle_cost(task: Task, lengths: FloatArray) -> FloatArray:
    """(n,) cost of a task on one part, the middle of its range, on boats of these lengths [m]."""
    low, high = np.array([task_cost(task, length) for length in lengths]).reshape(-1, 2).T
    middle: FloatArray = 0.5 * (low + high)
    return middle
