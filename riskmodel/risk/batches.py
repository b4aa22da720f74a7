"""Maker's lots in a fleet: how each has done against its class's life."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskmodel.fleet import Fleet
from riskmodel.life import Life
from riskmodel.life.history import History
from riskmodel.life.lots import Lot, learn_lot
from riskmodel.life.weibull import added_hazard


def learn_lots(
    fleet: Fleet, history: History, lives: Mapping[str, Life], spread: float
) -> dict[tuple[str, str], Lot]:
    """Lots by (item class, mark), from the lives now in service or just ended of the parts that carry the mark.

    The items table's mark is that of the part in service; what its predecessors were made of nobody wrote.
    """
    rows = history.rows
    if rows.empty:
        return {}
    marks = rows["item_id"].map(fleet.items.set_index("item_id")["batch"]).fillna("")
    latest = rows["life"] == rows["item_id"].map(history.spans.groupby("item_id")["life"].max())
    told = rows[(marks != "") & latest].assign(mark=marks)
    lots = {}
    for (name, mark), group in told.groupby(["item_class", "mark"]):
        nodes = lives[str(name)].nodes
        end = np.where(np.isfinite(group["upper"]), 0.5 * (group["lower"] + group["upper"]), group["lower"])
        entry = group["entry"].to_numpy()
        hazard = added_hazard(
            entry[:, None], np.maximum(end - entry, 0.0)[:, None], np.exp(nodes.log_shape), nodes.log_scale
        )
        expected = float(group["count"] @ (hazard @ nodes.weight))
        failures = float(group.loc[np.isfinite(group["upper"]), "count"].sum())
        lots[str(name), str(mark)] = learn_lot(failures, expected, spread)
    return lots
