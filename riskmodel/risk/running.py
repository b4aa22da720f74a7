"""Running hours: how many a year each boat does, and which classes wear by them as well as by the calendar."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.life import LifeRows
from riskmodel.life.clocks import TwoClocks, fit_two_clocks
from riskmodel.life.history import History
from riskmodel.life.seed import Seed, seed_hours
from riskmodel.trade import Trade
from riskmodel.units import DAYS_PER_YEAR

BOTH = "both"
# Meter readings closer together than this (years) tell little of a year (judgement).
LEAST_SPAN = 0.5
# A boat that runs no hours at all would have no clock.
LEAST_RATE = 1.0


def hours_rates(fleet: Fleet) -> pd.Series:
    """Running hours a year by vessel_id: measured between its meter readings, else as stated or by default.

    Readings on either side of a changed meter are not compared.
    """
    stated = fleet.vessels.set_index("vessel_id")["hours_per_year"].astype(float)
    records = fleet.records.sort_values(["vessel_id", "date"], kind="stable")
    changed = (records["event"] == "meter_changed").groupby(records["vessel_id"]).cumsum()
    read = records.assign(meter=changed)[records["hours"].notna()]
    ends = read.groupby(["vessel_id", "meter"])[["date", "hours"]].agg(["first", "last"])
    years = (ends["date"]["last"] - ends["date"]["first"]).dt.days / DAYS_PER_YEAR
    run = ends["hours"]["last"] - ends["hours"]["first"]
    told = years >= LEAST_SPAN
    measured = run[told].groupby("vessel_id").sum() / years[told].groupby("vessel_id").sum()
    rates: pd.Series = measured.reindex(stated.index).fillna(stated).clip(lower=LEAST_RATE).fillna(LEAST_RATE)
    return rates


def two_clocks(
    fleet: Fleet, trade: Trade, seeds: Mapping[str, Seed], history: History
) -> dict[str, TwoClocks]:
    """Lives by age and by hours of the classes that have both; hours are each boat's yearly hours times the years."""
    rates = hours_rates(fleet)
    found = {}
    for name, seed in seeds.items():
        item_class = trade.classes[name]
        if item_class.clock != BOTH:
            continue
        rows = history.rows[history.rows["item_class"] == name]
        rate = rows["vessel_id"].map(rates).to_numpy(dtype=float)
        ages = LifeRows(rows["lower"], rows["upper"], rows["entry"], rows["count"])
        hours = LifeRows(rows["lower"] * rate, rows["upper"] * rate, rows["entry"] * rate, rows["count"])
        typical = float(rates.loc[fleet.items.loc[fleet.items["item_class"] == name, "vessel_id"]].median())
        found[name] = fit_two_clocks(ages, hours, rate, (seed.prior, seed_hours(item_class, typical)))
    return found
