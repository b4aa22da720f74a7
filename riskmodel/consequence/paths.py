"""From a part letting go to an end state: conditional chances for each part, in its own boat's circumstances."""

from __future__ import annotations

import pandas as pd

from riskmodel.consequence.quantities import MOST
from riskmodel.trade import Trade, circumstance_factor


def item_paths(parts: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """One row per part and end state it can lead to by the table of paths.

    Parameters
    ----------
    parts : DataFrame
        ``item_class``, ``vessel_id`` and the columns of its boat; its index labels the answer's ``item``.

    Returns
    -------
    DataFrame
        ``item, vessel_id, item_class, end_state, low, high``: range of P(end state | the part lets go) with no
        barrier working, the trade's range times the circumstances' factor, below 1; and ``path_low, path_high,
        factor_low, factor_high``, what it was made of.
    """
    columns = sorted({row.column for row in trade.circumstances})
    kinds = parts[columns].drop_duplicates(ignore_index=True)
    kind = parts[columns].merge(kinds.assign(kind=kinds.index), on=columns, how="left")["kind"]
    own = parts[["item_class", "vessel_id", "fuel"]].assign(kind=kind.to_numpy())
    found = own.rename_axis("item").reset_index().merge(_paths(trade), on="item_class")
    fits = (found["path_fuel"] == "any") | (found["path_fuel"] == found["fuel"])
    found = found[fits].merge(_factors(kinds, trade), on=["kind", "end_state"])
    found["low"] = (found["path_low"] * found["factor_low"]).clip(upper=MOST)
    found["high"] = (found["path_high"] * found["factor_high"]).clip(upper=MOST)
    made_of = ["path_low", "path_high", "factor_low", "factor_high"]
    answer = found[["item", "vessel_id", "item_class", "end_state", "low", "high", *made_of]]
    return answer.sort_values(["item", "end_state"], ignore_index=True)


def _paths(trade: Trade) -> pd.DataFrame:
    rows = [
        (name, path.end_state, path.fuel, path.low, path.high)
        for name, item_class in trade.classes.items()
        for path in item_class.paths
    ]
    return pd.DataFrame(rows, columns=["item_class", "end_state", "path_fuel", "path_low", "path_high"])


def _factors(kinds: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """Circumstance factors of each kind of boat and end state."""
    rows = [
        (
            kind,
            end_state,
            *circumstance_factor(trade, end_state, {str(k): v for k, v in circumstances.items()}),
        )
        for kind, circumstances in enumerate(kinds.to_dict("records"))
        for end_state in trade.end_states
    ]
    return pd.DataFrame(rows, columns=["kind", "end_state", "factor_low", "factor_high"])
