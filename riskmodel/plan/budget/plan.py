"""The best plan for an amount of money: floors first, then what averts most; dated, and recomputed in full."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import not_negative
from riskmodel.plan.budget.choice import Choice, choose, next_best
from riskmodel.plan.budget.floors import Floor, floors, outcomes_done, sinking_of_boats
from riskmodel.plan.budget.instead import instead_of_work
from riskmodel.plan.budget.money import cents, checked_amount
from riskmodel.plan.budget.options import Ground, plan_options, planning_ground, time_left
from riskmodel.plan.budget.schedule import dated, hire_season
from riskmodel.plan.budget.spending import loss_curve
from riskmodel.plan.budget.status import (
    cost_of_floors,
    floor_status,
    overdue_left,
    sinking_band,
    would_pay_for,
)
from riskmodel.risk import Assessment
from riskmodel.risk.after import vessel_losses_of
from riskmodel.risk.outcomes import Outcomes

MONEY = "money"
# Tasks named as what the next money would buy.
NEXT = 5
# No work is quicker than this (hours): it only keeps a division whole.
LEAST_HOURS = 0.01


@dataclass(frozen=True)
class Plan:
    """A plan, with a frame inside.

    ``frame``: funded tasks by boat and date (columns of options.plan_options, with ``reason``: known defect, can kill,
    sinks or money, and ``note``). ``amount``, ``cost`` [currency], the ``lifts`` paid for (``vessel_id, date, cost``)
    in it. ``averted``: single tasks' loss averted, added up; ``before`` and ``after``: expected loss recomputed in
    full, by boat in ``vessels`` (with ``sinking_before``, its central 90 %
    ``sinking_before_low, sinking_before_high``, ``sinking_after``, tasks and cost). ``bound``: no plan for this
    money averts more; ``gap``: the share missing to it; ``shadow_price``: what one unit of money more averts;
    ``proof``: the solver's word. ``next_best``: unfunded tasks that would come next. ``floors``: what came first, its
    limit, before (with its central 90 %) and after, and whether it is ``met``; ``first_cost``: of all of them together,
    lifts in it. ``would_pay``: what the money kept for them would pay for instead (status.would_pay_for). ``instead``:
    by boat, what to do where a floor is not met. ``unplaced``: work the yard has no hours for. ``overdue``:
    age-renewed rubber past its age that the money does not reach.
    ``curve``: loss averted by amount. ``result``: the assessment, as planning sees it.
    """

    frame: pd.DataFrame
    amount: float
    cost: float
    lifts: pd.DataFrame
    averted: float
    before: float
    after: float
    vessels: pd.DataFrame
    bound: float
    gap: float
    shadow_price: float
    proof: str
    next_best: pd.DataFrame
    floors: pd.DataFrame
    first_cost: float
    would_pay: pd.DataFrame
    instead: pd.DataFrame
    unplaced: pd.DataFrame
    overdue: pd.DataFrame
    curve: pd.DataFrame
    yard_hours: float | None
    result: Assessment

    @property
    def satisfied(self) -> bool:
        """True where every known defect and every safety floor is seen to."""
        return self.instead.empty

    def _repr_html_(self) -> str:
        head = (
            f"<p>{len(self.frame)} tasks for {self.cost:,.0f} of {self.amount:,.0f}; expected loss "
            f"{self.before:,.0f} before, {self.after:,.0f} after.</p>"
        )
        return head + self.frame.to_html(index=False)


def best_plan(result: Assessment, amount: float, *, yard_hours: float | None = None) -> Plan:
    """The best plan for ``amount`` [currency]: known defects, then safety floors, then what averts most.

    Parameters
    ----------
    result : Assessment
    amount : float
        0 or more, at most 1,000,000,000,000 (money.LARGEST).
    yard_hours : float, optional
        Hours a month that the yard has; the fleet's ``yard_hours_per_month`` when left out, without that no limit.

    One option a part; what needs a boat ashore shares one lift. Money is exact, by the cent, and proved (``bound``).
    Dates are not: with ``yard_hours`` work is placed greedily, averts less the later it is done, and money work that
    finds no hours is left out and named. Without ``yard_hours`` more money never averts less, and what came first for
    a smaller amount comes first for a larger one. Raises ParameterError for hours below 0, and for such an
    amount or one too large.
    """
    amount = checked_amount(amount)
    hours = result.fleet.settings.yard_hours_per_month if yard_hours is None else yard_hours
    if hours is not None:
        not_negative("yard_hours", hours)
    ground = planning_ground(result)
    options = plan_options(result, ground=ground)
    found = floors(options, ground)
    choice = choose(options, found, ground, int(cents(amount)))
    return _told((options, found, choice), ground, amount, hours)


def _told(
    chosen: tuple[pd.DataFrame, tuple[Floor, ...], Choice], ground: Ground, amount: float, hours: float | None
) -> Plan:
    """The choice with dates, with what it leaves of the losses, and with all that is said about it."""
    options, found, choice = chosen
    result = ground.result
    work, unplaced = _dated(_work(options, found, choice, ground), hours, result)
    lifts = _lifts(work, ground)
    after = outcomes_done(work, work.index, ground)
    vessels = _vessels(work, lifts, after, ground)
    status = floor_status(found, choice, work, options, (after, ground))
    averted = float(work["averted"].sum())
    rows = choice.rows
    left, whole = choice.bound - choice.averted, int(cents(amount))
    return Plan(
        frame=work.drop(columns="urgency").reset_index(drop=True),
        amount=amount,
        cost=float(work["cost"].sum() + lifts["cost"].sum()),
        lifts=lifts,
        averted=averted,
        before=float(vessels["loss_before"].sum()),
        after=float(vessels["loss_after"].sum()),
        vessels=vessels,
        bound=choice.bound,
        gap=max(left, 0.0) / choice.bound if choice.bound > 0 else 0.0,
        shadow_price=choice.shadow_price,
        proof=choice.proof,
        next_best=next_best(options, choice, NEXT),
        floors=status,
        first_cost=cost_of_floors(found, options, ground.lift) / 100,
        would_pay=would_pay_for(found, choice, options, (ground.lift, whole)),
        instead=instead_of_work(status, result),
        unplaced=unplaced.drop(columns="urgency").reset_index(drop=True),
        overdue=overdue_left(options, rows, result),
        curve=loss_curve(options, found, ground, whole, choice),
        yard_hours=hours,
        result=result,
    )


def _work(options: pd.DataFrame, found: tuple[Floor, ...], choice: Choice, ground: Ground) -> pd.DataFrame:
    """The chosen options, why each is in and how urgent it is: floors in their order, then by averted for each hour."""
    work = options.loc[choice.rows].copy()
    reason, urgency = pd.Series(MONEY, index=work.index), pd.Series(np.inf, index=work.index)
    place = pd.Series(work.index, index=work["item"])
    for number, floor in enumerate(found[: choice.floors]):
        for item in options.loc[list(floor.options), "item"]:
            row = place[item]
            if reason[row] == MONEY:
                reason[row], urgency[row] = floor.kind, number
    worth: pd.Series = work["averted"] / work["hours"].clip(lower=LEAST_HOURS)
    money = urgency == np.inf
    urgency[money] = len(found) + worth[money].rank(ascending=False, method="first")
    hire = hire_season(ground.result.fleet, ground.result.horizon.as_of)
    let = work["vessel_id"].isin(hire) & (work["when"] == "now")
    note = let.map({True: "on a hand-over day: in the season it costs hire", False: ""})
    return work.assign(reason=reason, urgency=urgency, note=note)


def _dated(work: pd.DataFrame, hours: float | None, result: Assessment) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The work on its days, worth less by what it waits, in order of boat and day; and what finds no hours.

    What comes before money stays in the plan without a day: the boat waits for the yard.
    """
    days = dated(work, hours, result.horizon)
    nowhere = days.isna().to_numpy()
    first = (work["reason"] != MONEY).to_numpy()
    begin = time_left(work["date"], result)
    then = time_left(days.where(~nowhere, result.horizon.until), result)
    waits = np.where(begin > 0, then / np.where(begin > 0, begin, 1.0), 0.0)
    moved = work.assign(
        date=days, averted=work["averted"] * waits, share=work["share"] * waits, waits=nowhere & first
    )
    moved["averted_life"] -= work["averted"] - moved["averted"]
    placed = moved[~nowhere | first]
    order = placed.sort_values(["vessel", "date", "urgency"], kind="stable", na_position="last")
    return order.drop(columns="waits"), work[nowhere & ~first]


def _lifts(work: pd.DataFrame, ground: Ground) -> pd.DataFrame:
    """One lift a boat that has work to be lifted for, on the first day of it."""
    needed = work[work["haul_out"].astype(bool)].drop_duplicates("vessel")
    cost = cents(ground.lift)[needed["vessel"].to_numpy(dtype=np.intp)] / 100
    return pd.DataFrame(
        {"vessel_id": needed["vessel_id"].to_numpy(), "date": needed["date"].to_numpy(), "cost": cost}
    )


def _vessels(work: pd.DataFrame, lifts: pd.DataFrame, after: Outcomes, ground: Ground) -> pd.DataFrame:
    """Each boat before and after, recomputed in full, with its number of tasks and their cost."""
    result = ground.result
    frame = pd.DataFrame({"vessel_id": result.fleet.vessels["vessel_id"].to_numpy()})
    spent = (
        pd.concat([work[["vessel_id", "cost"]], lifts[["vessel_id", "cost"]]])
        .groupby("vessel_id")["cost"]
        .sum()
    )
    frame["tasks"] = frame["vessel_id"].map(work["vessel_id"].value_counts()).fillna(0).astype(int)
    frame["cost"] = frame["vessel_id"].map(spent).fillna(0.0)
    for when, found in (("before", ground.now), ("after", after)):
        frame[f"loss_{when}"] = vessel_losses_of(result, found)
        frame[f"sinking_{when}"] = sinking_of_boats(found, result)
    frame["sinking_before_low"], frame["sinking_before_high"] = sinking_band(ground.now)
    return frame
