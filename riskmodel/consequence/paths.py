"""From a part letting go to an end state: conditional chances for each part, in its own boat's circumstances."""

from __future__ import annotations

import pandas as pd

from riskmodel.trade import Trade, circumstance_factor


def item_paths(items: pd.DataFrame, vessels: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """One row per part and end state it can lead to.

    Parameters
    ----------
    items : DataFrame
        ``item_class`` and ``vessel_id``; its index labels the answer's ``item``.
    vessels : DataFrame
        Checked vessels with defaults filled.

    Returns
    -------
    DataFrame
        ``item, vessel_id, end_state, low, high``: range of P(end state | the part lets go) with no barrier
        working, the trade's range times the circumstances' factor, below 1; and ``path_low, path_high,
        factor_low, factor_high``, what it was made of.
    """
    boats = vessels[["vessel_id", "fuel"]]
    parts = items[["item_class", "vessel_id"]].rename_axis("item").reset_index().merge(boats, on="vessel_id")
    found = parts.merge(_paths(trade), on="item_class")
    fits = (found["path_fuel"] == "any") | (found["path_fuel"] == found["fuel"])
    found = found[fits].merge(_factors(vessels, trade), on=["vessel_id", "end_state"])
    found["low"] = (found["path_low"] * found["factor_low"]).clip(upper=_MOST)
    found["high"] = (found["path_high"] * found["factor_high"]).clip(upper=_MOST)
    columns = [
        "item",
        "vessel_id",
        "end_state",
        "low",
        "high",
        "path_low",
        "path_high",
        "factor_low",
        "factor_high",
    ]
    return found[columns].sort_values(["item", "end_state"], ignore_index=True)


# Nothing in this trade follows for certain (judgement).
_MOST = 0.95


def _paths(trade: Trade) -> pd.DataFrame:
    rows = [
        (name, path.end_state, path.fuel, path.low, path.high)
        for name, item_class in trade.classes.items()
        for path in item_class.paths
    ]
    return pd.DataFrame(rows, columns=["item_class", "end_state", "path_fuel", "path_low", "path_high"])


def _factors(vessels: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """Circumstance factors per boat and end state, worked out once for each distinct set of circumstances."""
    columns = sorted({row.column for row in trade.circumstances})
    kinds = vessels[columns].drop_duplicates(ignore_index=True)
    rows = [
        (
            kind,
            end_state,
            *circumstance_factor(trade, end_state, {str(k): v for k, v in circumstances.items()}),
        )
        for kind, circumstances in enumerate(kinds.to_dict("records"))
        for end_state in trade.end_states
    ]
    factors = pd.DataFrame(rows, columns=["kind", "end_state", "factor_low", "factor_high"])
    place = vessels[["vessel_id", *columns]].merge(kinds.assign(kind=kinds.index), on=columns)
    return place[["vessel_id", "kind"]].merge(factors, on="kind")[
        ["vessel_id", "end_state", "factor_low", "factor_high"]
    ]
