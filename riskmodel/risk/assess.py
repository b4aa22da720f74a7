"""The whole job on one screen: load, learn, assess, rank."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.consequence import barrier_needs, item_paths, vessel_losses
from riskmodel.errors import ParameterError
from riskmodel.fleet import Fleet
from riskmodel.frames import places_by, rare_collection
from riskmodel.risk.averted import Barriers, loss_averted
from riskmodel.risk.chances import drawn_parameters
from riskmodel.risk.class_risk import ClassRisk, class_risk
from riskmodel.risk.draws import Draws
from riskmodel.risk.frame import item_risk_frame
from riskmodel.risk.gather import gather
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.haul_out import hauled_yearly
from riskmodel.risk.horizon import Horizon, coming_season, given_horizon
from riskmodel.risk.lives import Lives, learn_lives
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.outcomes import Consequences, outcomes
from riskmodel.risk.outfit import other_currency, usually_carried, with_typical_outfits
from riskmodel.risk.readings import read_readings, trend_reach
from riskmodel.risk.standing import days_to_dates, standing
from riskmodel.risk.tasks import candidate_tasks, choose_tasks
from riskmodel.risk.working import any_working, readiness
from riskmodel.trade import Trade, load_trade
from riskmodel.words import counted

NO_LIVES = "lives rest on trade intervals alone"


@dataclass(frozen=True)
class Assessment:
    """The item risk frame with everything it rests on.

    ``frame``: one row a part, in rank order (columns in DEVELOPERS.md). ``fleet``: as assessed, typical outfits filled
    in. ``lives``, ``horizon``, ``trade``, ``limit`` (chance over which a path that can kill comes before money).
    ``standing``, ``paths``, ``losses``, ``tasks``, ``barriers``: the steps between, for whoever asks why.
    ``notes``: what was assumed, in plain sentences.
    """

    frame: pd.DataFrame
    fleet: Fleet
    lives: Lives
    horizon: Horizon
    trade: Trade
    limit: float
    standing: pd.DataFrame
    paths: pd.DataFrame
    losses: pd.DataFrame
    tasks: pd.DataFrame
    barriers: Barriers
    notes: tuple[str, ...]

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
        Of the draws behind bands and ranks. The same input and seed give the same bytes.

    Raises
    ------
    ParameterError
        When the horizon is empty or starts on another day than ``as_of``, or the fleet was read as of a later day.
    """
    horizon = _horizon(fleet, as_of, until)
    trade = load_trade(fleet.settings.trade_folder)
    fleet, reading_notes = read_readings(fleet, trade)
    items, outfit_notes = with_typical_outfits(fleet, trade)
    outfit_notes += usually_carried(fleet, trade) + other_currency(fleet, trade)
    whole = replace(fleet, items=items, as_of=horizon.as_of)
    lives = learn_lives(whole, trade)
    afloat, sale_notes = _still_owned(whole, lives)
    where = _with_trends(standing(afloat, lives.history.spans), afloat, lives, trade)
    draws = Draws(seed)
    consequences = _consequences(afloat, trade)
    parts, barriers = _parts_and_barriers(afloat, lives, where, horizon, (consequences, trade, draws))
    result = outcomes(parts.drawn, consequences, barriers.working, trade, draws)
    benefits = loss_averted(parts, result, consequences, barriers, (trade, draws))
    tasks = candidate_tasks(afloat.items, where, afloat.vessels, hauled_yearly(fleet, horizon.as_of), trade)
    limit = fleet.settings.kill_limit or trade.limits["kill_path_probability"].value
    overdue = _past_renewal_age(afloat.items, where, lives, trade)
    best, averted = choose_tasks(tasks, benefits, overdue | (where["defect"] != "").to_numpy())
    frame = item_risk_frame(
        afloat, where, consequences.paths, (parts, result), (best, averted, overdue), (lives, trade, limit)
    )
    return Assessment(
        frame=frame,
        fleet=afloat,
        lives=lives,
        horizon=horizon,
        trade=trade,
        limit=limit,
        standing=where,
        paths=consequences.paths,
        losses=consequences.losses,
        tasks=tasks,
        barriers=barriers,
        notes=(
            *fleet.notes,
            *_untaught(fleet, lives),
            *reading_notes,
            *outfit_notes,
            *sale_notes,
            *lives.history.notes,
        ),
    )


def _untaught(fleet: Fleet, lives: Lives) -> tuple[str, ...]:
    """A note where there is a table of records and it tells of no life yet."""
    if len(lives.history.rows) or any(NO_LIVES in told for told in fleet.notes):
        return ()
    return (f"No record tells of a life yet: {NO_LIVES}",)


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


def _still_owned(fleet: Fleet, lives: Lives) -> tuple[Fleet, tuple[str, ...]]:
    """The fleet without boats sold before the day; their records have taught what they could."""
    spans = lives.history.spans
    gone = set(spans.loc[spans["sold_on"].notna(), "vessel_id"])
    if not gone:
        return fleet, ()
    kept = ~fleet.vessels["vessel_id"].isin(gone)
    vessels = fleet.vessels[kept].reset_index(drop=True)
    items = fleet.items[~fleet.items["vessel_id"].isin(gone)].reset_index(drop=True)
    given = {**fleet.given, "vessels": fleet.given["vessels"][kept].reset_index(drop=True)}
    return replace(fleet, vessels=vessels, items=items, given=given), (
        f"{counted(len(gone), 'boat')} sold: learned from, not ranked",
    )


def _with_trends(where: pd.DataFrame, fleet: Fleet, lives: Lives, trade: Trade) -> pd.DataFrame:
    """Standing with the time ahead of each part stretched or drawn in by a trend of its readings."""
    reach = trend_reach(fleet, trade, _installed(lives))
    return where.assign(reach=where["item_id"].map(reach).fillna(1.0))


def _installed(lives: Lives) -> pd.Series:
    """By item_id, the day the part in service may first have been there (NaT unknown)."""
    return days_to_dates(lives.history.spans.groupby("item_id")["put_in_after"].last())


def _consequences(fleet: Fleet, trade: Trade) -> Consequences:
    paths = item_paths(fleet.items, fleet.vessels, trade)
    paths["item_class"] = fleet.items["item_class"].to_numpy()[paths["item"]]
    vessel = pd.Index(fleet.vessels["vessel_id"]).get_indexer(fleet.items["vessel_id"])
    return Consequences(paths, vessel_losses(fleet.vessels, trade), vessel, len(fleet.vessels))


def _parts_and_barriers(
    fleet: Fleet,
    lives: Lives,
    where: pd.DataFrame,
    horizon: Horizon,
    tools: tuple[Consequences, Trade, Draws],
) -> tuple[ClassRisk, Barriers]:
    """Every part's chances, class by class, and how ready the boats' barriers are."""
    consequences, trade, draws = tools
    places, needs = places_by(fleet.items["item_class"]), barrier_needs(trade)
    looks = clean_looks(fleet, _installed(lives))
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
    """Age-renewed rubber past the maker's or trade's renewal age, whatever it looks like: no look makes up for it."""
    trade_age = items["item_class"].map({name: seed.upkeep.renewal_age for name, seed in lives.seeds.items()})
    age_limit = items["maker_interval_years"].fillna(trade_age).to_numpy(dtype=float)
    by_age = items["item_class"].map({name: each.renewed_on_age for name, each in trade.classes.items()})
    # An unknown age that cannot be young is past it; one that may be young is a reason to look for the date first.
    age = where["age_years"].fillna(where["youngest"]).to_numpy(dtype=float)
    past: npt.NDArray[np.bool_] = by_age.to_numpy(dtype=bool) & (age >= age_limit)
    return past
