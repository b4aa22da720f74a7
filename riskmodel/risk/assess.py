"""The whole job on one screen: load, learn, assess, rank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import (
    Following,
    background_of_boats,
    barrier_needs,
    boats_with_pumps,
    item_following,
    parts_on_boats,
    vessel_losses,
)
from riskmodel.errors import ParameterError
from riskmodel.fleet import Fleet, year_shares
from riskmodel.frames import places_by, rare_collection
from riskmodel.risk.averted import Barriers, loss_averted
from riskmodel.risk.chances import drawn_parameters
from riskmodel.risk.class_risk import ClassRisk, class_risk
from riskmodel.risk.draws import Draws
from riskmodel.risk.frame import item_risk_frame
from riskmodel.risk.gather import gather
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.horizon import Horizon, coming_season, given_horizon
from riskmodel.risk.learned import Learned, installed_on, learn
from riskmodel.risk.lives import Lives
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.outcomes import Consequences, Outcomes, outcomes
from riskmodel.risk.redrawn import MEANS_SEED, with_bands_of
from riskmodel.risk.tasks import Benefits, Looking, candidate_tasks, choose_tasks
from riskmodel.risk.working import any_working, readiness
from riskmodel.trade import Trade


@dataclass(frozen=True)
class Assessment:
    """The item risk frame with everything it rests on.

    ``frame``: one row a part, in rank order (columns in DEVELOPERS.md). ``learned``: fleet, lives and standing, which
    ``fleet, lives, trade, standing, notes`` give too. ``limit``: chance over which a path that can kill comes before
    money. ``chances``: by item_id and end state, over the horizon; ``background``: chances and ``loss`` by vessel_id
    of what no part brings about; ``boats``: per end state each boat's whole chance (vessels, DRAWS). ``tasks``: what
    could be done; ``must_renew`` (items,): no look stands in for renewal. ``parts, consequences, barriers, benefits,
    seed``: the steps between, for plans and for whoever asks why. ``redrawn``: the same by the draws of the seed that
    was asked for, where that is another than the one means go by; its bands and ranks are the frame's.
    """

    frame: pd.DataFrame
    learned: Learned
    horizon: Horizon
    limit: float
    chances: pd.DataFrame
    background: pd.DataFrame
    boats: Mapping[str, FloatArray]
    tasks: pd.DataFrame
    must_renew: npt.NDArray[np.bool_]
    parts: ClassRisk
    consequences: Consequences
    barriers: Barriers
    benefits: Benefits
    seed: int
    redrawn: Assessment | None = None

    @property
    def asked_seed(self) -> int:
        """The seed that was asked for."""
        return self.seed if self.redrawn is None else self.redrawn.seed

    @property
    def fleet(self) -> Fleet:
        """The fleet as assessed."""
        return self.learned.fleet

    @property
    def lives(self) -> Lives:
        """What is believed of each class."""
        return self.learned.lives

    @property
    def trade(self) -> Trade:
        """The knowledge base it was assessed with."""
        return self.learned.trade

    @property
    def standing(self) -> pd.DataFrame:
        """Where each part stands, in the order of the items."""
        return self.learned.where

    @property
    def following(self) -> Following:
        """What may follow from each part."""
        return self.consequences.following

    @property
    def losses(self) -> pd.DataFrame:
        """What each end state costs each boat."""
        return self.consequences.losses

    @property
    def notes(self) -> tuple[str, ...]:
        """What was assumed, in plain sentences."""
        return self.learned.notes

    def __getitem__(self, column: str) -> pd.Series:
        """A column of the item risk frame."""
        return self.frame[column]


@rare_collection()
def assess(
    fleet: Fleet, as_of: date | None = None, until: date | Horizon | None = None, *, seed: int = 1
) -> Assessment:
    """Risk of every part of a fleet, ranked: known defects, then paths that can kill, then money.

    Parameters
    ----------
    fleet : Fleet
    as_of : date, optional
        The day it is seen from; the fleet's own when left out, never earlier than it.
    until : date or Horizon, optional
        To when; the end of the coming season when left out.
    seed : int
        Of the draws behind bands and ranks, and of nothing else. The same input and seed give the same bytes.

    Raises
    ------
    ParameterError
        When the horizon is empty or starts on another day than ``as_of``, or the fleet was read as of a later day.
    """
    horizon = _horizon(fleet, as_of, until)
    return assess_learned(learn(fleet, horizon.as_of), horizon, seed=seed)


@rare_collection()
def assess_learned(learned: Learned, horizon: Horizon, *, seed: int = 1) -> Assessment:
    """The same for a fleet whose lives were learned before, as of the day they were learned."""
    result = assess_by_draws(learned, horizon, MEANS_SEED)
    if seed == MEANS_SEED:
        return result
    redrawn = assess_by_draws(learned, horizon, seed)
    return replace(result, frame=with_bands_of(result.frame, redrawn.frame), redrawn=redrawn)


def assess_by_draws(learned: Learned, horizon: Horizon, seed: int) -> Assessment:
    """The same with every figure by the draws of one seed, for whoever goes on with them draw by draw."""
    fleet, lives, where, trade = learned.fleet, learned.lives, learned.where, learned.trade
    draws = Draws(seed)
    consequences = fleet_consequences(fleet, horizon, trade)
    parts, barriers = parts_and_barriers(learned, horizon, (consequences, draws))
    result = outcomes(parts.drawn, consequences, barriers.working, trade, draws)
    benefits = loss_averted(parts, result, consequences, barriers, trade)
    looking = Looking(horizon.years, parts.finds)
    tasks = candidate_tasks(fleet.items, where, fleet.vessels, learned.hauled, trade, looking)
    limit = fleet.settings.kill_limit or trade.limits["kill_path_probability"].value
    overdue = _past_renewal_age(fleet.items, where, lives, trade)
    must_renew = overdue | (where["defect"] != "").to_numpy()
    best, averted = choose_tasks(tasks, benefits, must_renew)
    frame = item_risk_frame(
        fleet,
        where,
        (consequences.following.rows, consequences.losses),
        (parts, result),
        (best, averted, overdue),
        (lives, trade, limit),
    )
    return Assessment(
        frame=frame,
        learned=learned,
        horizon=horizon,
        limit=limit,
        chances=pd.DataFrame(result.probability, index=pd.Index(fleet.items["item_id"])),
        background=_background(fleet, result),
        boats=result.boats,
        tasks=tasks,
        must_renew=must_renew,
        parts=parts,
        consequences=consequences,
        barriers=barriers,
        benefits=benefits,
        seed=seed,
    )


def _background(fleet: Fleet, result: Outcomes) -> pd.DataFrame:
    boats = pd.Index(fleet.vessels["vessel_id"])
    return pd.DataFrame({**result.background, "loss": result.background_loss}, index=boats)


def _horizon(fleet: Fleet, as_of: date | None, until: date | Horizon | None) -> Horizon:
    day = as_of or (until.as_of if isinstance(until, Horizon) else fleet.as_of)
    if day < fleet.as_of:
        raise ParameterError(
            f"as_of must not be before the day the fleet was read as of, {fleet.as_of}, got {day}"
        )
    if not isinstance(until, Horizon):
        return coming_season(fleet, day) if until is None else given_horizon(day, until)
    if day != until.as_of:
        raise ParameterError(f"as_of must be the day the horizon starts from, {until.as_of}, got {day}")
    return until


def fleet_consequences(fleet: Fleet, horizon: Horizon, trade: Trade) -> Consequences:
    """What may follow on every boat of a fleet over the horizon, and what it would cost."""
    year = year_shares(fleet, horizon.as_of, horizon.until)
    boats = boats_with_pumps(fleet.items, fleet.vessels)
    return Consequences(
        following=item_following(parts_on_boats(fleet.items, boats), year, trade),
        background=background_of_boats(boats, year, horizon.years, trade),
        losses=vessel_losses(fleet.vessels, trade),
        vessel=pd.Index(fleet.vessels["vessel_id"]).get_indexer(fleet.items["vessel_id"]),
        vessels=len(fleet.vessels),
    )


def parts_and_barriers(
    learned: Learned, horizon: Horizon, tools: tuple[Consequences, Draws]
) -> tuple[ClassRisk, Barriers]:
    """Every part's chances, class by class, and how ready the boats' barriers are."""
    fleet, lives, where, trade = learned.fleet, learned.lives, learned.where, learned.trade
    consequences, draws = tools
    places, needs = places_by(fleet.items["item_class"]), barrier_needs(trade)
    looks = clean_looks(fleet, installed_on(lives))
    class_of = looks["item_id"].map(fleet.items.set_index("item_id")["item_class"])
    looked = places_by(class_of)
    care = trade.care["suspect_needing_work"]
    share = np.minimum(draws.between("suspect", np.array([care.low]), np.array([care.high]))[0], 1.0)
    risks, ready, working = {}, {}, {}
    for name, place in places.items():
        item_class, life = trade.classes[name], lives.posterior[name]
        rows = where.iloc[place].reset_index(drop=True)
        mine = looks.iloc[looked.get(name, slice(0))]
        parts = gather_parts(item_class, rows, lives, mine, (trade, draws))
        hours = lives.clocks[name].by_hours if name in lives.clocks else None
        parameters = drawn_parameters(name, life, hours, draws)
        risks[name] = place, class_risk(item_class, life, parts, parameters, rows, (horizon.years, share))
        if name in needs:
            ready[name] = readiness(parts[1], parameters, rows, horizon.years)
            working[name] = any_working(ready[name].dead, consequences.vessel[place], consequences.vessels)
    barriers = Barriers({name: places[name] for name in ready}, ready, working)
    return gather(risks, len(fleet.items)), barriers


def _past_renewal_age(
    items: pd.DataFrame, where: pd.DataFrame, lives: Lives, trade: Trade
) -> npt.NDArray[np.bool_]:
    """Age-renewed rubber past the maker's or trade's renewal age, and any part past its maker's own, whatever it looks
    like: no look makes up for it."""
    maker = items["maker_interval_years"].to_numpy(dtype=float)
    trade_age = items["item_class"].map({name: seed.upkeep.renewal_age for name, seed in lives.seeds.items()})
    by_age = items["item_class"].map({name: each.renewed_on_age for name, each in trade.classes.items()})
    # An unknown age that cannot be young is past it; one that may be young is a reason to look for the date first.
    age = where["age_years"].fillna(where["youngest"]).to_numpy(dtype=float)
    own = np.isfinite(maker)
    limit = np.where(own, maker, trade_age.to_numpy(dtype=float))
    past: npt.NDArray[np.bool_] = (own | by_age.to_numpy(dtype=bool)) & (age >= limit)
    return past
