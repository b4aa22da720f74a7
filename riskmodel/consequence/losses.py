"""What each end state would cost each boat: a range of the mean loss, before any insurance."""

from __future__ import annotations

import pandas as pd

from riskmodel.trade import Trade, end_state_loss


def vessel_losses(vessels: pd.DataFrame, trade: Trade) -> pd.DataFrame:
    """One row per boat and end state: ``vessel_id, end_state, low, high``, in the fleet's currency.

    The share of value lost plus salvage, repair and clean-up by length; ranges are our doubt about the mean, not the
    spread of single losses.
    """
    rows = [
        (vessel, name, *end_state_loss(end_state, value, length))
        for vessel, value, length in zip(
            vessels["vessel_id"], vessels["value"], vessels["length_m"], strict=True
        )
        for name, end_state in trade.end_states.items()
    ]
    return pd.DataFrame(rows, columns=["vessel_id", "end_state", "low", "high"])
