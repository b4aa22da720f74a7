"""The money's choice: what floors leave of an amount, spent on what averts most, as arrays for the solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.plan.budget.floors import Floor, affordable, reductions
from riskmodel.plan.budget.money import IntArray, Till, cents
from riskmodel.plan.budget.options import NOW, Ground
from riskmodel.plan.solving.problem import Options, Solution
from riskmodel.plan.solving.solve import solve_plan
from riskmodel.plan.solving.unfunded import next_unfunded

Places = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Beyond:
    """What is left to choose once ``base`` (rows of the options) is done for ``spent`` cents: ``problem``, whose
    options are the ``rows`` (n,) of the options frame, those of an item of the base in place of its own."""

    base: Places
    spent: int
    problem: Options
    rows: Places


@dataclass(frozen=True)
class Choice:
    """``rows`` chosen, ``base`` among them that floors asked for (where money chose better, the better); how many of
    the ``floors`` are paid for; ``averted`` added up, ``bound`` that no plan passes, ``shadow_price`` [a unit of
    money averts], ``proof`` of the solver, what all costs [cents],
    and the problem solved."""

    rows: Places
    floors: int
    averted: float
    bound: float
    shadow_price: float
    proof: str
    cost: int
    beyond: Beyond | None = None
    solution: Solution | None = None


def choose(
    options: pd.DataFrame,
    found: tuple[Floor, ...],
    ground: Ground,
    amount: int,
    smaller: Choice | None = None,
) -> Choice:
    """The floors first and then the best that the rest of ``amount`` [cents] buys.

    Where the amount does not pay for every floor, the rest is kept: money does not go elsewhere while something that
    comes first is undone, and a larger amount then never averts less.
    """
    number, spent = affordable(found, options, ground.lift, amount)
    base = np.array(sorted(row for floor in found[:number] for row in floor.options), dtype=np.intp)
    averted = options["averted"].to_numpy(dtype=float)
    if number < len(found):
        total = float(averted[base].sum())
        return Choice(base, number, total, total, 0.0, "kept for floors", spent)
    beyond = beyond_floors(options, base, spent, ground)
    solution = solve_plan(beyond.problem, amount - spent)
    rows = taken(beyond, options, solution.chosen)
    more = float(averted[base].sum())
    return Choice(
        rows,
        number,
        float(averted[rows].sum()),
        solution.bound + more,
        solution.shadow_price * 100.0,
        solution.proof,
        Till(options, ground.lift).together(rows),
        beyond,
        solution,
    )


def beyond_floors(options: pd.DataFrame, base: Places, spent: int, ground: Ground) -> Beyond:
    """The choice that is left: other items' options, and for an item of the base what averts more and takes as much
    of its chance away today, at the difference in price. Lifts that the base pays for are free."""
    averted, cost = options["averted"].to_numpy(dtype=float), cents(options["cost"])
    of_base = pd.Series(base, index=options["item"].to_numpy()[base])
    own = options["item"].map(of_base).fillna(-1).to_numpy(dtype=np.intp)
    better = _better(options, own, ground)
    rows = np.flatnonzero((own < 0) & (averted > 0) | better)
    had = own[rows]
    lift = cents(ground.lift)
    till = Till(options, ground.lift)
    till.take(base)
    lift[list(till.paid)] = 0
    problem = Options(
        item=options["item"].to_numpy()[rows].astype(np.int64),
        vessel=options["vessel"].to_numpy()[rows].astype(np.int64),
        benefit=averted[rows] - np.where(had >= 0, averted[had], 0.0),
        cost=cost[rows] - np.where(had >= 0, cost[had], 0),
        haul_out=options["haul_out"].to_numpy(dtype=bool)[rows],
        haul_out_cost=lift,
    )
    return Beyond(base, spent, problem, rows)


def taken(beyond: Beyond, options: pd.DataFrame, chosen: IntArray) -> Places:
    """Rows of the options once ``chosen`` (ids of the problem) are added to the base or put in place of its own."""
    rows = beyond.rows[chosen]
    item = options["item"].to_numpy()
    kept = beyond.base[~np.isin(item[beyond.base], item[rows])]
    whole: Places = np.sort(np.concatenate([kept, rows]))
    return whole


def next_best(options: pd.DataFrame, choice: Choice, top: int) -> pd.DataFrame:
    """The ``top`` options that would avert most for each unit of more money, in place of what their items have now.

    The options' columns with ``more_cost`` and ``more_averted`` [currency]; ``per_cost``, which with a lift still to
    be paid (``with_lift``) is that of all that would then be done on the boat. No rows where floors keep the money.
    """
    if choice.beyond is None or choice.solution is None:
        return options.head(0).assign(more_cost=0.0, more_averted=0.0, per_cost=0.0, with_lift=False)
    problem, chosen = choice.beyond.problem, choice.solution.chosen
    found = next_unfunded(problem, choice.solution, top)
    benefit, cost = (
        pd.Series(values[chosen], index=problem.item[chosen]) for values in (problem.benefit, problem.cost)
    )
    item = pd.Series(problem.item[found.option])
    rows = options.loc[choice.beyond.rows[found.option]].reset_index(drop=True)
    return rows.assign(
        more_cost=(problem.cost[found.option] - item.map(cost).fillna(0)) / 100.0,
        more_averted=problem.benefit[found.option] - item.map(benefit).fillna(0.0),
        per_cost=found.worth * 100.0,
        with_lift=found.with_haul_out,
    )


def _better(options: pd.DataFrame, own: Places, ground: Ground) -> npt.NDArray[np.bool_]:
    """Options that may take the place of the base's own for their item; known defects have but their renewal."""
    averted, cost = options["averted"].to_numpy(dtype=float), cents(options["cost"])
    reduced: FloatArray = reductions(options, ground.result)
    today = (options["when"] == NOW).to_numpy()
    found: npt.NDArray[np.bool_] = (
        (own >= 0) & today & (averted > averted[own]) & (reduced >= reduced[own]) & (cost >= cost[own])
    )
    return found
