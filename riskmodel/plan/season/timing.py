"""When within the time ahead each part lets go, and when it can do harm: what spreads a season's chances over it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import (
    background_of_boats,
    barriers_against,
    boats_with_pumps,
    item_following,
    parts_on_boats,
)
from riskmodel.consequence.needs import THERE
from riskmodel.consequence.states import year_share
from riskmodel.fleet import year_shares
from riskmodel.frames import places_by
from riskmodel.risk import Assessment
from riskmodel.risk.chances import chance_of_any, chance_of_one, drawn_parameters, middle_parameters
from riskmodel.risk.draws import Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.learned import installed_on
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.outcomes import barrier_ready, mix_barriers
from riskmodel.trade import Trade

MONTHS = 12.0
# No chance is taken as more than this, so that it has a rate.
MOST = 1.0 - 1e-12


def letting_go_by(result: Assessment, years: FloatArray) -> FloatArray:
    """(items, times) chance of having let go by each of ``years`` (times,) from the day, at the middle of what is
    believed of each class: for the share of a chance that falls in a month, which hardly depends on the life."""
    learned, draws = result.learned, Draws(result.seed)
    items, where, lives = learned.fleet.items, learned.where, learned.lives
    looks = clean_looks(learned.fleet, installed_on(lives))
    curve = np.empty((len(items), len(years)))
    for name, place in places_by(items["item_class"]).items():
        item_class, rows = learned.trade.classes[name], where.iloc[place].reset_index(drop=True)
        mine = looks[looks["item_id"].isin(rows["item_id"])]
        believed, _, _ = gather_parts(item_class, rows, lives, mine, (learned.trade, draws))
        hours = lives.clocks[name].by_hours if name in lives.clocks else None
        middle = middle_parameters(drawn_parameters(name, lives.posterior[name], hours, draws))
        for column, time in enumerate(years):
            one = chance_of_one(believed, middle, np.full(len(place), time))
            curve[place, column] = chance_of_any(one, believed.quantity)[:, 0]
    return _with_defects(curve, result, years)


def _with_defects(curve: FloatArray, result: Assessment, years: FloatArray) -> FloatArray:
    """Parts found let go have done so; those found needing work do it evenly over what is left of their window, a
    month of it at the least."""
    where = result.standing
    curve = np.where(where["let_go"].to_numpy()[:, None], 1.0, curve)
    classes = [result.trade.classes[name] for name in result.fleet.items["item_class"]]
    window = np.array([np.sqrt(each.warning_low_months * each.warning_high_months) for each in classes])
    left = np.maximum(window / MONTHS - where["found_ago"].fillna(0.0).to_numpy(), 1.0 / MONTHS)
    even = np.minimum(years[None, :] / left[:, None], 1.0)
    return np.where(where["needs_work"].to_numpy()[:, None], even, curve)


@dataclass(frozen=True)
class Harm:
    """What follows in each month: per end state P(it | a part lets go in the month) (items, months), and a year's
    rate of its background (months,). ``usable`` (items, months) by end state: the share of the month in which the part
    can bring it about at all, below 1 where it needs water or a running engine; what lets go outside waits for it."""

    follows: Mapping[str, FloatArray]
    usable: Mapping[str, FloatArray]
    weather: Mapping[str, FloatArray]


def harm_by_month(result: Assessment, ends: Sequence[date]) -> Harm:
    """How much harm follows in each of the months that run from the day to ``ends``, by how the boat spends them.

    Barriers are as ready as they are over the whole time ahead. The assessment must be of one boat.
    """
    fleet, trade = result.fleet, result.trade
    shares, of_month = _distinct_years(result, ends)
    names, count = list(dict.fromkeys(shares["vessel_id"])), len(fleet.items)
    boat = boats_with_pumps(fleet.items, fleet.vessels)
    boats = pd.concat([boat.assign(vessel_id=name) for name in names], ignore_index=True)
    items = pd.concat([fleet.items.assign(vessel_id=name) for name in names], ignore_index=True)
    ready = _ready(result)
    following = item_following(parts_on_boats(items, boats), shares, trade)
    follows, usable, there = {}, {}, _shares_with(shares, str(fleet.vessels["kept"].iloc[0]), names)
    for name, here in places_by(following.rows["end_state"]).items():
        found = np.zeros(len(items))
        needs = following.rows["needs"].iloc[here].groupby(following.rows["item"].iloc[here] % count).first()
        for guarded, some in places_by(following.rows["guarded"].iloc[here]).items():
            item = following.rows["item"].to_numpy()[here[some]]
            found[item] = _mixed(following.chance[here[some]], guarded, ready, trade)
        follows[name] = found.reshape(len(names), count).T[:, of_month]
        usable[name] = np.ones((count, len(names)))
        for need, share in there.items():
            usable[name][needs.index[needs == need]] = share
        usable[name] = usable[name][:, of_month]
    # A year's worth, as a rate: small chances add up as rates do.
    weather = {
        name: -np.log1p(-np.minimum(_mixed(chance, name, ready, trade), MOST))[of_month]
        for name, chance in background_of_boats(boats, shares, 1.0, trade).items()
    }
    return Harm(follows, usable, weather)


def _shares_with(shares: pd.DataFrame, kept: str, names: Sequence[str]) -> dict[str, FloatArray]:
    """By need, the share of each distinct month in which the boat, so kept, has it."""
    boats = pd.DataFrame({"vessel_id": names, "kept": kept})
    return {
        need: year_share(boats, shares, holds).loc[list(names)].to_numpy() for need, holds in THERE.items()
    }


def _distinct_years(result: Assessment, ends: Sequence[date]) -> tuple[pd.DataFrame, npt.NDArray[np.intp]]:
    """Shares of the months that differ in how the boat spends them, each as a boat of its own, and which of them
    each month is."""
    (vessel_id,) = result.fleet.vessels["vessel_id"]
    known: dict[tuple[object, ...], int] = {}
    frames, of_month = [], []
    for start, end in zip((result.horizon.as_of, *ends[:-1]), ends, strict=True):
        share = year_shares(result.fleet, start, end)
        key = tuple(share.fillna({"visited_every_days": -1.0}).to_numpy().ravel().tolist())
        if key not in known:
            known[key] = len(known)
            frames.append(share.assign(vessel_id=f"{vessel_id}/{known[key]}"))
        of_month.append(known[key])
    return pd.concat(frames, ignore_index=True), np.array(of_month, dtype=np.intp)


def _ready(result: Assessment) -> dict[str, float]:
    """By barrier, the mean chance that it works."""
    working = result.barriers.working
    return {
        each.barrier: float(barrier_ready(each.needs, working, 1).mean()) for each in result.trade.barriers
    }


def _mixed(chance: FloatArray, guarded: str, ready: Mapping[str, float], trade: Trade) -> FloatArray:
    """(n,) mean over scenarios and the states of the barriers against ``guarded``."""
    scenario = np.arange(chance.shape[1])
    shape = len(chance), chance.shape[1]
    each = [np.full(shape, ready[barrier.barrier]) for barrier in barriers_against(guarded, trade)]
    mean: FloatArray = mix_barriers(chance, each, scenario).chance.mean(axis=1)
    return mean
