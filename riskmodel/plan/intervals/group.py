"""Parts of one class in one circumstance, as what best intervals are worked out from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import barrier_needs
from riskmodel.frames import places_by
from riskmodel.life.looks import Windows, detection_nodes, window_nodes
from riskmodel.plan.intervals.harm import harmful_classes
from riskmodel.plan.intervals.upkeep_costs import PartMoney, UpkeepCosts, part_money, upkeep_costs
from riskmodel.plan.intervals.wearing import Wear, wear_by_both, wear_of_life
from riskmodel.risk import Assessment
from riskmodel.risk.chances import drawn_parameters
from riskmodel.risk.draws import Draws
from riskmodel.risk.looking import LOOKING, look_interval
from riskmodel.trade import ItemClass, Task

MONTHS = 12.0
# Lengths of the warning window, as many as the chances of looked-at parts use.
WINDOWS = 9


@dataclass(frozen=True)
class Group:
    """Parts of one class in one circumstance.

    ``where``: what tells the circumstance apart; ``money`` of each part and ``costs``, its means; ``wear`` and
    ``windows`` in years of the calendar; ``trade_age``: the renewal age the trade publishes (NaN for none);
    ``typical_age``: that age, else a typical life, which is our own reading and nobody's renewal age; ``capped``:
    no advice goes beyond what the trade asks for; ``limit``: the age no advice exceeds, the least the makers name
    and, where ``capped``, the trade's (infinite for none); ``trade_look``: the middle of the trade's look
    intervals, ``strictest_look`` the least (years, infinite for none); ``hidden``: a barrier's part, whose failure
    only a test finds.
    """

    item_class: ItemClass
    where: Mapping[str, object]
    money: PartMoney
    costs: UpkeepCosts
    wear: Wear
    windows: Windows
    trade_age: float
    typical_age: float
    limit: float
    trade_look: float
    strictest_look: float
    capped: bool
    hidden: bool

    @property
    def look_tasks(self) -> list[Task]:
        """The class's ways of looking or testing."""
        return [task for task in self.item_class.tasks if task.does in LOOKING]

    @property
    def failure_cost(self) -> float:
        """What a failure costs with its renewal; of a hidden part with what its boat risks until the trade's next
        test, or one after it, finds it."""
        if not self.hidden:
            return self.costs.failure
        misses = np.array([misses_of(task) for task in self.look_tasks]).ravel()
        missed = float((misses / (1.0 - misses)).mean()) if len(misses) else 0.0
        until_found = (0.5 + missed) * min(self.trade_look, self.serves)
        return self.costs.failure + self.costs.while_dead * min(until_found, self.serves)

    @property
    def serves(self) -> float:
        """Years a part stays fitted at the most, for what is worked out beside its renewal: a typical life where no
        renewal age bounds it and money is not all that is at stake; infinite for none."""
        return min(self.limit, self.typical_age) if self.capped else self.limit


def misses_of(task: Task) -> FloatArray:
    """(d,) equally likely chances that one look or test misses what is there to find."""
    miss: FloatArray = 1.0 - detection_nodes(task.detection_low or 0.0, task.detection_high or 0.0)
    return miss


def interval_groups(result: Assessment, by: tuple[str, ...]) -> Iterator[Group]:
    """The groups of a fleet, class by class, told apart by columns ``by`` of its vessels."""
    items = result.fleet.items
    money, draws = part_money(result), Draws()
    harmful = harmful_classes(result.trade, result.following.rows)
    boats = result.fleet.vessels.set_index("vessel_id")[list(by)].astype(str)
    circumstance = items["vessel_id"].map(boats.agg("/".join, axis=1)) if by else pd.Series("", items.index)
    for name, place in places_by(items["item_class"]).items():
        for some in places_by(circumstance.iloc[place]).values():
            here = place[some]
            where = {str(k): v for k, v in boats.loc[items["vessel_id"].iloc[here[0]]].items()}
            yield _group(result, (name, where), here, money.at(here), (name in harmful, draws))


def _group(
    result: Assessment,
    which: tuple[str, Mapping[str, object]],
    place: npt.NDArray[np.intp],
    money: PartMoney,
    tools: tuple[bool, Draws],
) -> Group:
    (name, where), (harmful, draws) = which, tools
    item_class, lives = result.trade.classes[name], result.lives
    items = result.fleet.items.iloc[place]
    speed = lives.ageing.speed(name)[lives.ageing.kinds_of(items["vessel_id"])]
    pace = float(np.exp(money.mean(np.log(speed))))
    typical_age = lives.seeds[name].upkeep.renewal_age
    published = any(row.meaning == "renew_by" and row.unit == "years" for row in item_class.intervals)
    makers = float(items["maker_interval_years"].min())
    capped = harmful or item_class.renewed_on_age
    looks = [row.low for row in item_class.intervals if row.meaning == "look" and row.unit == "years"]
    low, high = item_class.warning_low_months / MONTHS, item_class.warning_high_months / MONTHS
    windows = window_nodes(low, high, WINDOWS)
    return Group(
        item_class=item_class,
        where=where,
        money=money,
        costs=upkeep_costs(item_class, money),
        wear=_wear(result, name, place, pace, draws),
        # A warning passes as fast as the part ages.
        windows=Windows(windows.length / pace, windows.weight),
        trade_age=typical_age if published else np.nan,
        typical_age=typical_age,
        limit=min(typical_age if capped and published else np.inf, np.inf if np.isnan(makers) else makers),
        trade_look=look_interval(item_class),
        strictest_look=min(looks, default=np.inf),
        capped=capped,
        hidden=name in barrier_needs(result.trade),
    )


def _wear(result: Assessment, name: str, place: npt.NDArray[np.intp], pace: float, draws: Draws) -> Wear:
    lives = result.lives
    if name not in lives.clocks:
        return wear_of_life(lives.posterior[name], pace)
    rate = float(result.standing["hours_rate"].iloc[place].mean())
    parameters = drawn_parameters(name, lives.posterior[name], lives.clocks[name].by_hours, draws)
    # A boat that never runs its engine wears nothing by running.
    return wear_by_both(parameters, pace, max(rate, 1e-6))
