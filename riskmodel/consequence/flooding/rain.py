"""Water that comes aboard every day whatever the parts do: rain, and a gland that drips as it should."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.inflow import drip_rate, rain_inflow
from riskmodel.consequence.quantities import drawn, drawn_share
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

MILLIMETRE = 1e-3
# Kinds whose shaft turns in packing that is meant to drip.
GLANDS = ("inboard_shaft", "sail_shaft")


def open_deck(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) deck [m2] that drains into the bilge unless the boat drains itself: by ``length_m``."""
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    area: FloatArray = drawn("background_deck_area_per_square_metre", trade, cube) * length**2
    return area


def share_below(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) share of the water on that deck that finds its way below: ``self_draining``, in the open."""
    drains = kinds["self_draining"].to_numpy(dtype=bool)[:, None]
    share: FloatArray = np.where(drains, drawn_share("background_self_draining_share", trade, cube), 1.0)
    return share


def share_past_cover(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) share of rain and snow that a cover, where there is one, lets by: ``covered``."""
    covered = kinds["covered"].to_numpy(dtype=bool)[:, None]
    share: FloatArray = np.where(covered, drawn_share("background_cover_share", trade, cube), 1.0)
    return share


def daily_inflow(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) mean of rain and drips [m3/s], against which a pump works before there is any leak."""
    a_day = drawn("background_rain_a_day", trade, cube) * MILLIMETRE
    entering = share_below(kinds, trade, cube) * share_past_cover(kinds, trade, cube)
    rain = rain_inflow(a_day, open_deck(kinds, trade, cube), entering)
    drops = drip_rate(drawn("background_drops_a_minute", trade, cube))
    gland = kinds["propulsion"].isin(GLANDS).to_numpy()[:, None]
    total: FloatArray = rain + np.where(gland, drops, 0.0)
    return total
