"""When a task that needs the boat ashore also has to pay for the lift."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.fleet import Fleet
from riskmodel.trade import Trade, task_cost

OUT_ALREADY = ("trailer", "rack", "ashore")
# A boat hauled within this many days is taken to be hauled about yearly: the lift is paid for anyway (judgement).
YEARLY = 550
# Where winters are cold a small boat whose records say nothing of lifts is taken to come out each year (judgement).
WINTERED_ASHORE = ("cold", "temperate")
LIFTS = ("hauled", "launched", "laid_up")


def hauled_yearly(fleet: Fleet, as_of: date) -> frozenset[str]:
    """Boats taken to be hauled about yearly: hauled lately, or no lift on record where boats winter ashore."""
    records = fleet.records
    since = pd.Timestamp(as_of) - pd.Timedelta(days=YEARLY)
    lately = records.loc[(records["event"] == "hauled") & (records["date"] >= since), "vessel_id"]
    told = set(records.loc[records["event"].isin(LIFTS), "vessel_id"])
    wintered = fleet.vessels.loc[fleet.vessels["climate"].isin(WINTERED_ASHORE), "vessel_id"]
    return frozenset(lately) | (frozenset(wintered) - told)


def ashore_anyway(
    vessel_id: pd.Series, kept: Mapping[str, str] | pd.Series, hauled: frozenset[str]
) -> npt.NDArray[np.bool_]:
    """True where the boat lives out of the water or is hauled about yearly."""
    dry = vessel_id.map(kept).isin(OUT_ALREADY)
    answer: npt.NDArray[np.bool_] = (dry | vessel_id.isin(hauled)).to_numpy()
    return answer


def haul_out_costs(lengths: FloatArray, trade: Trade) -> FloatArray:
    """Cost of one lift, block and wash for boats of these lengths (m)."""
    low, high = np.array([task_cost(trade.haul_out, length) for length in lengths]).reshape(-1, 2).T
    middle: FloatArray = 0.5 * (low + high)
    return middle
