"""Learns every class's life: trade intervals make the prior, surroundings set its pace, the fleet's records move it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from riskmodel.fleet import Fleet
from riskmodel.frames import places_by
from riskmodel.life import Life, LifeRows, fit_life
from riskmodel.life.ages import AgeTable, age_table
from riskmodel.life.clocks import TwoClocks
from riskmodel.life.history import History, read_history
from riskmodel.life.lots import Lot
from riskmodel.life.pooling import Pooled, pool_lives
from riskmodel.life.posterior import most_probable
from riskmodel.life.robust import robust_life
from riskmodel.life.seed import Seed, seed_class
from riskmodel.life.tally import tally_rows
from riskmodel.risk.ageing import Ageing, judged_ageing, learned_ageing
from riskmodel.risk.batches import learn_lots
from riskmodel.risk.running import two_clocks
from riskmodel.trade import Trade


@dataclass(frozen=True)
class Lives:
    """What is believed of each class in a fleet, in years of reference surroundings.

    ``seeds``: prior and its intervals; ``prior``: the life before records; ``posterior``: after, pooled over
    classes; ``history``: the rows; ``paced``: the same with ages in years of reference surroundings; ``tables``: the
    renewal tables that unknown ages are read from; ``ageing``: how fast each surroundings ages each class;
    ``pooled``: what the classes say together; ``lots``: by class and maker's lot; ``clocks``: classes that wear by
    running hours as well.
    """

    seeds: Mapping[str, Seed]
    prior: Mapping[str, Life]
    posterior: Mapping[str, Life]
    tables: Mapping[str, AgeTable]
    history: History
    paced: History
    ageing: Ageing
    pooled: Pooled
    lots: Mapping[tuple[str, str], Lot]
    clocks: Mapping[str, TwoClocks]


def learn_lives(fleet: Fleet, trade: Trade) -> Lives:
    """Lives of every class the fleet carries, in order of class name."""
    names = sorted(set(fleet.items["item_class"]))
    share = trade.care["share_renewing_at_interval"]
    seeds = {name: seed_class(trade.classes[name], (share.low, share.typical, share.high)) for name in names}
    prior = {name: fit_life(LifeRows.none(), seed.prior) for name, seed in seeds.items()}
    loose = _loose_classes(fleet)
    before = {name: age_table(prior[name], seeds[name].upkeep) for name in loose}
    history = read_history(fleet, {name: trade.classes[name] for name in names}, before)
    ageing, fitted = _at_their_pace(fleet, trade, seeds, history)
    paced = pace_rows(history, ageing)
    clocks = two_clocks(fleet, trade, seeds, paced)
    own = prior | fitted | {name: both.by_age for name, both in clocks.items()}
    pooled = pool_lives(
        own, {name: seed.doubt for name, seed in seeds.items()}, trade.care["fleet_shift_share"].typical
    )
    tables = {name: age_table(pooled.lives[name], seeds[name].upkeep) for name in loose}
    lots = learn_lots(fleet, paced, pooled.lives, trade.care["lot_hazard_sd"].typical)
    return Lives(seeds, prior, pooled.lives, tables, history, paced, ageing, pooled, lots, clocks)


def pace_rows(history: History, ageing: Ageing) -> History:
    """The history with every age in years of reference surroundings."""
    rows = history.rows
    kinds = ageing.kinds_of(rows["vessel_id"])
    speed = np.ones(len(rows))
    for name, place in places_by(rows["item_class"]).items():
        speed[place] = ageing.speed(name)[kinds[place]]
    columns = ("lower", "upper", "entry", "other_lower", "other_upper")
    return replace(history, rows=rows.assign(**{column: rows[column] * speed for column in columns}))


def _at_their_pace(
    fleet: Fleet, trade: Trade, seeds: Mapping[str, Seed], history: History
) -> tuple[Ageing, dict[str, Life]]:
    """Surroundings' rates, and the classes' own lives at the pace those give: each held while the other is learned."""
    ageing = judged_ageing(fleet, trade)
    watched = sorted(set(history.rows["item_class"]))
    judged = pace_rows(history, ageing)
    modes = {name: most_probable(tally_rows(judged.of_class(name)), seeds[name].prior) for name in watched}
    learned = learned_ageing(ageing, history.rows, modes)
    paced = pace_rows(history, learned)
    return learned, {name: robust_life(paced.of_class(name), seeds[name].prior) for name in watched}


def _loose_classes(fleet: Fleet) -> Iterable[str]:
    """Classes with a part, or a part's predecessor, whose installation or making may not be dated to a few weeks."""
    items, records = fleet.items, fleet.records
    loose = items["installed_after"].isna() | (items["installed_by"] > items["installed_after"])
    # Rubber ages from its making, which may be known to the year where the day it was put in is known.
    loose |= items["made_by"].notna() & ~(items["made_by"] == items["made_after"])
    renewed = records["event"].isin(["replaced", "installed"])
    # A record from before the part in service was put in is about a predecessor, renewal written down or not.
    earlier = records["date"] <= records["item_id"].map(items.set_index("item_id")["installed_by"])
    predecessor = items["item_id"].isin(set(records.loc[renewed | earlier, "item_id"]))
    return sorted(set(items.loc[loose | predecessor, "item_class"]))
