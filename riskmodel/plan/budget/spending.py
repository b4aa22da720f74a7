"""Loss averted against the money given, from nothing up: first what floors take, then one sweep of the price."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.plan.budget.choice import Choice, beyond_floors
from riskmodel.plan.budget.floors import Floor
from riskmodel.plan.budget.money import Till
from riskmodel.plan.budget.options import Ground
from riskmodel.plan.solving.curve import budget_curve

# Amounts the curve is worked out at, and how far it runs beyond the amount asked about (twice it, or twice what
# comes first).
POINTS, BEYOND = 30, 2


def loss_curve(
    options: pd.DataFrame, found: tuple[Floor, ...], ground: Ground, amount: int, choice: Choice
) -> pd.DataFrame:
    """``amount, averted, bound`` [currency] and ``satisfied`` (every floor paid for), in rising order.

    Up to what all floors cost, one row a floor paid for; beyond it, good plans for each amount, found in one sweep,
    and ``choice`` itself at its ``amount`` [cents]. More money never averts less.
    """
    averted = options["averted"].to_numpy(dtype=float)
    till, spent, base = Till(options, ground.lift), 0, 0.0
    rows = [(0, 0.0, 0.0, not found)]
    for number, floor in enumerate(found, 1):
        spent += till.together(floor.options)
        till.take(floor.options)
        base += float(averted[list(floor.options)].sum())
        rows.append((spent, base, base, number == len(found)))
    most = BEYOND * max(amount, spent, 1)
    # Closer together where the curve bends most, just beyond the floors.
    steps = spent + (most - spent) * np.linspace(0.0, 1.0, POINTS) ** 2
    budgets = np.unique([*steps.astype(np.int64), max(amount, spent)])
    whole = np.array(sorted(row for floor in found for row in floor.options), dtype=np.intp)
    beyond = beyond_floors(options, whole, spent, ground)
    swept = budget_curve(beyond.problem, budgets - spent)
    rows += zip(
        budgets.tolist(),
        (swept.benefit + base).tolist(),
        (swept.bound + base).tolist(),
        [True] * len(budgets),
        strict=True,
    )
    rows.append((amount, choice.averted, choice.bound, choice.floors == len(found)))
    frame = pd.DataFrame(rows, columns=["amount", "averted", "bound", "satisfied"])
    best = frame.groupby("amount", as_index=False).agg({"averted": "max", "bound": "min", "satisfied": "max"})
    best["averted"] = best["averted"].cummax()
    best["bound"] = np.maximum(best["bound"], best["averted"])
    return best.assign(amount=best["amount"] / 100)
