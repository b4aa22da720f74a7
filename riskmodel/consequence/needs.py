"""What each end state does nothing without: water round the boat, or its engine running and people aboard."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.consequence.slow import RUNNING_SHARE, WATER_SHARE, slow_needs
from riskmodel.consequence.states import in_use, launched, year_share
from riskmodel.trade import Trade
from riskmodel.trade.physics_rules import NOTHING, RUNNING, WATER

TABLE = "table"
INJURY = "injury"
# What needs a running engine or somebody aboard; engines that do not run are not overheated either.
NEED_USE = ("fire_explosion", "carbon_monoxide", "sinking_under_way", INJURY)
# Nobody drags ashore.
NEED_WATER = ("loss_of_holding",)
ENGINE = "machinery_damage"

# The states of a boat's year in which there is what is needed.
THERE: Mapping[str, Callable[[pd.DataFrame], pd.Series]] = {RUNNING: in_use, WATER: launched}
# The columns of a part that hold the share of its boat's year which has it.
SHARES = {WATER: WATER_SHARE, RUNNING: RUNNING_SHARE}


def needs_of(rows: pd.DataFrame, trade: Trade) -> pd.Series:
    """What each row (``item_class, end_state, origin``) needs: "water", "running" or "nothing".

    What lets go without it waits for it: the harm falls in the next stretch of the year that has it, and in none
    where the time ahead has no such stretch. Water that comes in at a berth is weighed by the time afloat instead: a
    boat that leaks at her launching is seen to.
    """
    running = rows["end_state"].isin(NEED_USE) | (rows["end_state"].eq(ENGINE) & rows["origin"].eq(TABLE))
    grows = {f"{name}/{state}": need for (name, state), need in slow_needs(trade).items()}
    slowly = (rows["item_class"] + "/" + rows["end_state"]).map(grows)
    needs = slowly.where(rows["origin"].ne(TABLE)).fillna(NOTHING)
    wet = rows["end_state"].isin(NEED_WATER)
    return needs.mask(wet, WATER).mask(running, RUNNING)


def with_shares(parts: pd.DataFrame, year: pd.DataFrame) -> pd.DataFrame:
    """The parts with the share of their boats' year in which the boat is launched, and in which it is used."""
    return parts.assign(
        **{
            column: parts["vessel_id"].map(year_share(parts, year, THERE[need])).to_numpy(dtype=float)
            for need, column in SHARES.items()
        }
    )


def could_happen(rows: pd.DataFrame, parts: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """(rows,) whether the year of each row's boat has at some time what the row ``needs``; ``parts`` with_shares."""
    could = np.ones(len(rows), dtype=bool)
    for need, column in SHARES.items():
        here = rows["needs"].eq(need).to_numpy()
        could[here] = parts.loc[rows["item"].to_numpy()[here], column].to_numpy() > 0
    return could
