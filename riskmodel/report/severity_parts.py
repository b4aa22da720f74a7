"""Which cell of the standard's matrix each part of a fleet stands in, and which parts are worst."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.consequence import INJURY, barrier_needs
from riskmodel.consequence.severity import (
    MONEY_SCALE,
    RISKS,
    cell_counts,
    outcome_categories,
    outcome_cells,
    risk_level,
    worst_cells,
)
from riskmodel.risk import Assessment
from riskmodel.risk.ranking import KNOWN_DEFECT
from riskmodel.trade import Trade

IN_TABLE, DEFECT, BARRIER = "in the table", "known defect", "barrier"


def levels_frame(result: Assessment) -> pd.DataFrame:
    """One row a part, in rank order: the cell it stands in, with money and danger to people beside it.

    ``counted`` says whether it is in the table: known defects are no probability, and barriers (pumps, switches,
    alarms, blowers, ducts) have their worth in what they stop, so neither is. ``loss``: mean loss if it comes to that.
    ``kill_probability``: of any end state that can kill; ``deadly_end_state, deadly_chance, deadly_level,
    deadly_risk``: the likeliest of them alone. ``injury_probability``: of somebody hurt, where that is reckoned.
    """
    frame = result.frame[["item_id", "vessel_id", "item_class", "position", "group", "kill_probability"]]
    chances = result.chances.loc[frame["item_id"]]
    categories = outcome_categories(result.losses, result.trade, money_scale(result))
    cells = outcome_cells(chances, list(frame["vessel_id"]), categories, result.trade)
    beside = frame.reset_index(drop=True).drop(columns=["vessel_id", "group"])
    beside["injury_probability"] = (
        chances[INJURY].to_numpy() if INJURY in chances else np.full(len(frame), np.nan)
    )
    barrier = frame["item_class"].isin(barrier_needs(result.trade)).to_numpy()
    defect = (frame["group"] == KNOWN_DEFECT).to_numpy()
    beside["counted"] = np.where(defect, DEFECT, np.where(barrier, BARRIER, IN_TABLE))
    return worst_cells(cells).merge(beside, on="item_id").merge(_deadly(cells), on="item_id", how="left")


def money_scale(result: Assessment) -> float:
    """The share of the standard's money bands that holds for this fleet: its keeper's, else the trade's."""
    return result.fleet.settings.severity_money_scale or result.trade.limits[MONEY_SCALE].value


def level_counts(parts: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """How many parts in the table stand in each cell: levels A to F down, categories 1 to 4 across."""
    return cell_counts(parts[parts["counted"] == IN_TABLE], trade)


def cell_words(trade: Trade) -> pd.DataFrame:
    """The standard's word of risk in each cell: levels A to F down, categories 1 to 4 across."""
    levels = sorted(trade.probability_levels)
    words = risk_level(np.array(levels, dtype=object)[:, None], np.array([[1, 2, 3, 4]]), trade)
    return pd.DataFrame(words, index=levels, columns=[1, 2, 3, 4])


def worst_parts(parts: pd.DataFrame, top: int) -> pd.DataFrame:
    """The ``top`` parts of the table in its worst cells: by word, then category, then what can kill, then chance."""
    order = {word: place for place, word in enumerate(RISKS)}
    shown = parts[(parts["counted"] == IN_TABLE) & (parts["chance"] > 0)]
    ranked = shown.assign(
        _word=shown["risk"].map(order), _kill=-shown["kill_probability"], _chance=-shown["chance"]
    )
    return ranked.sort_values(["_word", "category", "_kill", "_chance", "item_id"]).head(top)


def deadly_parts(parts: pd.DataFrame, top: int) -> pd.DataFrame:
    """The ``top`` parts of the table that can kill, likeliest first, whatever they would cost."""
    shown = parts[(parts["counted"] == IN_TABLE) & (parts["deadly_chance"] > 0)]
    ranked = shown.assign(_kill=-shown["kill_probability"])
    return ranked.sort_values(["_kill", "item_id"]).head(top)


def _deadly(cells: pd.DataFrame) -> pd.DataFrame:
    """Each part's likeliest end state of the first category by what it does to people alone."""
    rows = worst_cells(cells[cells["people_category"] == 1])
    names = {name: f"deadly_{name}" for name in ("end_state", "chance", "level", "risk")}
    return rows[["item_id", *names]].rename(columns=names)
