"""Brings together, for the parts of one class, everything the chances need."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.hypercube import WIDTH_90
from riskmodel.life.looks import FURTHEST, window_nodes
from riskmodel.life.lots import Lot, learn_lot, marginal_correction
from riskmodel.risk.draws import Draws
from riskmodel.risk.lives import Lives
from riskmodel.risk.looked import looks_of_class
from riskmodel.risk.parts import Parts, ages_of, unknown_ages
from riskmodel.trade import ItemClass, Trade

MONTHS = 12.0
# Fewer window lengths than the reference rule's, for speed: the chance moves by under 1 % of itself.
WINDOWS = 9


def gather_parts(
    item_class: ItemClass,
    standing: pd.DataFrame,
    lives: Lives,
    looks: pd.DataFrame,
    tools: tuple[Trade, Draws],
) -> tuple[Parts, Parts, FloatArray]:
    """Parts of one class from their standing rows: with ageing rates as believed, and draw by draw; and the log
    standard deviation of those rates in each surroundings (kinds,)."""
    trade, draws = tools
    name = item_class.item_class
    low, high = item_class.warning_low_months / MONTHS, item_class.warning_high_months / MONTHS
    longest = np.sqrt(low * high) * np.exp(FURTHEST * np.log(high / low) / WIDTH_90)
    speed = lives.ageing.speed(name)
    kind = lives.ageing.kinds_of(standing["vessel_id"])
    age, gap = ages_of(standing, lives.tables.get(name))
    cell, ages, weights = unknown_ages(standing, lives.tables.get(name))
    spread = trade.care["lot_hazard_sd"].typical
    hours, unmetered = _run(standing, cell, ages, weights)
    lot, lots = _lots(name, standing["batch"], lives, spread)
    # What fails unseen is counted from its last passed test instead: a sound look is that test.
    seen = None
    if not item_class.fails_unseen:
        seen = looks_of_class(item_class, standing["item_id"], looks, longest / speed[kind])
    middle = Parts(
        age=age,
        gap=gap,
        quantity=standing["quantity"].to_numpy(dtype=float),
        cell=cell,
        ages=ages,
        weights=weights,
        kind=kind,
        speed=speed[:, None],
        reach=standing["reach"].to_numpy(dtype=float),
        looks=seen,
        windows=window_nodes(low, high, WINDOWS),
        lot=lot,
        lots=lots,
        lot_correction=marginal_correction(spread, lives.seeds[name].prior.quantile),
        hours=hours,
        unmetered=unmetered,
        rate=standing["hours_rate"].to_numpy(dtype=float),
        # A measured rate is believed no closer than a stated one: a year's hours differ from the years measured.
        rate_sd=trade.care["hours_rate_log_sd"].typical,
    )
    return middle, replace(middle, speed=lives.ageing.drawn_speed(name, draws)), lives.ageing.speed_sd(name)


def _run(
    standing: pd.DataFrame, cell: npt.NDArray[np.intp], ages: FloatArray, weights: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Hours on each part that a meter tells, and where none does the years it has run at its boat's yearly hours: its
    age, or the age it may be expected to have where that is unknown."""
    age = standing["age_years"].fillna(0.0).to_numpy(dtype=float)
    if len(weights):
        age = np.where(cell >= 0, weights[cell, 1] @ ages, age)
    metered = standing["hours"].to_numpy(dtype=float)
    return np.where(np.isnan(metered), 0.0, metered), np.where(np.isnan(metered), age, 0.0)


def _lots(
    name: str, batch: pd.Series, lives: Lives, spread: float
) -> tuple[npt.NDArray[np.intp], tuple[Lot, ...]]:
    """The lot of each part (-1 none) and what is known of each lot; a lot nobody has records of is still a lot."""
    marks = sorted(set(batch) - {""})
    places = {mark: place for place, mark in enumerate(marks)}
    lots = tuple(lives.lots.get((name, mark)) or learn_lot(0.0, 0.0, spread) for mark in marks)
    return np.array([places.get(mark, -1) for mark in batch], dtype=np.intp), lots
