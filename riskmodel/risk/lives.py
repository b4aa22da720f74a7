"""Learns every class's life: trade intervals make the prior, the fleet's own records move it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from riskmodel.fleet import Fleet
from riskmodel.life import Life, LifeRows, fit_life
from riskmodel.life.ages import AgeTable, age_table
from riskmodel.life.history import History, read_history
from riskmodel.life.seed import Seed, seed_class
from riskmodel.trade import Trade


@dataclass(frozen=True)
class Lives:
    """What is believed of each class in a fleet.

    ``seeds``: prior and its intervals; ``prior``: the life before records; ``posterior``: after; ``history``: the rows.
    ``tables``: the renewal tables that unknown ages are read from, by the posterior.
    """

    seeds: Mapping[str, Seed]
    prior: Mapping[str, Life]
    posterior: Mapping[str, Life]
    tables: Mapping[str, AgeTable]
    history: History


def learn_lives(fleet: Fleet, trade: Trade) -> Lives:
    """Lives of every class the fleet carries, in order of class name."""
    names = sorted(set(fleet.items["item_class"]))
    share = trade.care["share_renewing_at_interval"]
    seeds = {name: seed_class(trade.classes[name], (share.low, share.typical, share.high)) for name in names}
    prior = {name: fit_life(LifeRows.none(), seed.prior) for name, seed in seeds.items()}
    loose = _loose_classes(fleet)
    before = {name: age_table(prior[name], seeds[name].upkeep) for name in loose}
    history = read_history(fleet, {name: trade.classes[name] for name in names}, before)
    watched = set(history.rows["item_class"])
    posterior = {
        name: fit_life(history.of_class(name), seeds[name].prior) if name in watched else prior[name]
        for name in names
    }
    tables = {
        name: age_table(posterior[name], seeds[name].upkeep) if name in watched else before[name]
        for name in loose
    }
    return Lives(seeds, prior, posterior, tables, history)


def _loose_classes(fleet: Fleet) -> Iterable[str]:
    """Classes with a part, or a part's predecessor, whose installation may not be dated to a few weeks."""
    items, records = fleet.items, fleet.records
    loose = items["installed_after"].isna() | (items["installed_by"] > items["installed_after"])
    renewed = records["event"].isin(["replaced", "installed"])
    # A record from before the part in service was put in is about a predecessor, renewal written down or not.
    earlier = records["date"] <= records["item_id"].map(items.set_index("item_id")["installed_by"])
    predecessor = items["item_id"].isin(set(records.loc[renewed | earlier, "item_id"]))
    return sorted(set(items.loc[loose | predecessor, "item_class"]))
