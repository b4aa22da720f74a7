"""One class's parts over the horizon: their chance of letting go, and what looking, testing or renewing changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.life import Life
from riskmodel.life.ages import AgeTable
from riskmodel.risk.chances import (
    Parameters,
    Parts,
    chance_of_any,
    chance_of_one,
    drawn_parameters,
    gather_parts,
    match_mean,
    summary,
)
from riskmodel.risk.draws import Draws
from riskmodel.risk.working import as_new
from riskmodel.trade import ItemClass

MONTHS = 12.0


@dataclass(frozen=True)
class ClassRisk:
    """Parts of one class, (n,) or (n, DRAWS).

    ``mean, low, high``: chance of letting go over the horizon with its 90 % interval; ``drawn``: the same draw by draw.
    ``seen``: share of those failures whose warning stands open today, which a perfect look would find.
    ``kept``: share of the chance that remains after renewal today.
    """

    mean: FloatArray
    low: FloatArray
    high: FloatArray
    drawn: FloatArray
    seen: FloatArray
    kept: FloatArray


def class_risk(
    item_class: ItemClass,
    life: Life,
    table: AgeTable | None,
    standing: pd.DataFrame,
    years: float,
    draws: Draws,
) -> ClassRisk:
    """Risk of the parts in ``standing`` (all of one class) over ``years``."""
    parts = gather_parts(standing, table)
    horizon = np.full(len(standing), years)
    parameters = drawn_parameters(item_class.item_class, life, draws)
    mean, low, high = summary(parts, life, parameters, horizon)
    plain = chance_of_any(chance_of_one(parts, parameters, horizon), parts.quantity)
    drawn = match_mean(plain, mean)
    warning = np.minimum(
        np.sqrt(item_class.warning_low_months * item_class.warning_high_months) / MONTHS, horizon
    )
    open_now = chance_of_any(chance_of_one(parts, parameters, warning), parts.quantity)
    fresh = chance_of_any(chance_of_one(as_new(parts), parameters, horizon), parts.quantity)
    floor = np.maximum(plain, np.finfo(float).tiny)
    risk = ClassRisk(mean, low, high, drawn, np.minimum(open_now / floor, 1.0), fresh / floor)
    return _with_defects(risk, item_class, parts, parameters, standing, horizon)


def _with_defects(
    risk: ClassRisk,
    item_class: ItemClass,
    parts: Parts,
    parameters: Parameters,
    standing: pd.DataFrame,
    horizon: FloatArray,
) -> ClassRisk:
    """Parts found to need work let go within their warning window; parts found let go have done so."""
    needs, gone = standing["needs_work"].to_numpy(), standing["let_go"].to_numpy()
    if not (needs.any() or gone.any()):
        return risk
    window = np.full(len(horizon), item_class.warning_high_months / MONTHS)
    within = chance_of_any(chance_of_one(parts, parameters, window), parts.quantity)
    soon = np.minimum(risk.drawn / np.maximum(within, np.finfo(float).tiny), 1.0)
    soon = np.where((horizon >= window)[:, None], 1.0, np.maximum(soon, risk.drawn))
    drawn = np.where(gone[:, None], 1.0, np.where(needs[:, None], soon, risk.drawn))
    bounds = np.quantile(drawn, [0.05, 0.95], axis=1)
    known = needs | gone
    return ClassRisk(
        mean=np.where(known, drawn.mean(axis=1), risk.mean),
        low=np.where(known, bounds[0], risk.low),
        high=np.where(known, bounds[1], risk.high),
        drawn=drawn,
        seen=np.where(known[:, None], 1.0, risk.seen),
        kept=risk.kept * risk.drawn / np.maximum(drawn, np.finfo(float).tiny),
    )
