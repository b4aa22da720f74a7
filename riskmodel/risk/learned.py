"""What a fleet's tables teach, whatever the horizon: its parts, their lives, and where each stands on the day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import pandas as pd

from riskmodel.fleet import Fleet
from riskmodel.risk.haul_out import hauled_yearly
from riskmodel.risk.lives import Lives, learn_lives
from riskmodel.risk.outfit import hired, usually_carried, with_typical_outfits
from riskmodel.risk.prices import price_notes, priced_trade
from riskmodel.risk.readings import read_readings, trend_reach
from riskmodel.risk.standing import days_to_dates, standing
from riskmodel.trade import Trade
from riskmodel.words import counted

NO_LIVES = "lives rest on trade intervals alone"


@dataclass(frozen=True)
class Learned:
    """``fleet``: boats still owned, typical outfits filled in, seen from its ``as_of``; ``lives``; ``where``: standing
    of each part (standing.standing, with trends of readings); ``hauled``: boats taken to be hauled yearly; ``trade``;
    ``notes``: what was assumed, in plain sentences; ``sold``: how many boats were sold by then, and are not in the
    fleet."""

    fleet: Fleet
    lives: Lives
    where: pd.DataFrame
    hauled: frozenset[str]
    trade: Trade
    notes: tuple[str, ...]
    sold: int = 0


def learn(fleet: Fleet, as_of: date) -> Learned:
    """Everything that does not depend on how far ahead one looks."""
    trade = priced_trade(fleet.settings)
    fleet, reading_notes = read_readings(fleet, trade)
    items, outfit_notes = with_typical_outfits(fleet, trade)
    outfit_notes += usually_carried(fleet, trade) + price_notes(fleet.settings)
    whole = replace(fleet, items=items, as_of=as_of)
    lives = learn_lives(whole, trade)
    afloat, sale_notes = _still_owned(whole, lives)
    where = _with_trends(standing(afloat, lives.history.spans), afloat, lives, trade)
    outfit_notes += hired(fleet)
    told = (*fleet.notes, *_untaught(fleet, lives), *reading_notes, *outfit_notes, *sale_notes)
    notes = (*told, *lives.history.notes)
    sold = len(whole.vessels) - len(afloat.vessels)
    return Learned(afloat, lives, where, hauled_yearly(fleet, as_of), trade, notes, sold)


def only_boats(learned: Learned, vessel_ids: frozenset[str]) -> Learned:
    """The same for some of the boats: their lives were learned from all."""
    fleet = learned.fleet
    mine = fleet.items["vessel_id"].isin(vessel_ids).to_numpy()
    kept = fleet.vessels["vessel_id"].isin(vessel_ids)
    given = {**fleet.given, "vessels": fleet.given["vessels"][kept].reset_index(drop=True)}
    few = replace(
        fleet,
        vessels=fleet.vessels[kept].reset_index(drop=True),
        items=fleet.items[mine].reset_index(drop=True),
        given=given,
    )
    return replace(learned, fleet=few, where=learned.where[mine].reset_index(drop=True))


def installed_on(lives: Lives) -> pd.Series:
    """By item_id, the day the part in service may first have been there (NaT unknown)."""
    return days_to_dates(lives.history.spans.groupby("item_id")["put_in_after"].last())


def _untaught(fleet: Fleet, lives: Lives) -> tuple[str, ...]:
    """A note where there is a table of records and it tells of no life yet."""
    if len(lives.history.rows) or any(NO_LIVES in told for told in fleet.notes):
        return ()
    return (f"No record tells of a life yet: {NO_LIVES}",)


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
    reach = trend_reach(fleet, trade, installed_on(lives))
    return where.assign(reach=where["item_id"].map(reach).fillna(1.0))
