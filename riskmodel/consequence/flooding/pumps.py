"""What a boat's automatic pump throws where it stands, and what it draws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.battery import pump_amperes
from riskmodel.consequence.flooding.pump import HALF_FLOW_HEAD, SHUT_OFF_HEAD, delivered_share, pump_flow
from riskmodel.consequence.quantities import drawn, own_or
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

LITRES_A_MINUTE = 60_000.0
# A discharge nobody has described has two bends on its way overboard (judgement).
USUAL_BENDS = 2.0


@dataclass(frozen=True)
class Pumps:
    """``flow`` [m3/s] overboard and ``amperes`` while it runs (n, S); ``battery_ah`` (n, 1) nameplate."""

    flow: FloatArray
    amperes: FloatArray
    battery_ah: FloatArray


def pumps_of(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Pumps:
    """Pumps of the kinds: the boat's ``pump_lpm, pump_head_m, pump_shut_off_m, pump_bends, pump_check_valve,
    pump_amps, pump_hose_m`` where given, the trade's by ``length_m`` elsewhere; ``battery_ah``."""
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    rated = own_or(kinds, "pump_lpm", drawn("flooding_pump_lpm_per_metre", trade, cube) * length)
    lift = own_or(kinds, "pump_head_m", drawn("flooding_static_head_per_metre", trade, cube) * length)
    shut_off = own_or(kinds, "pump_shut_off_m", np.array([SHUT_OFF_HEAD]))
    # A pump of another shut-off head loses half at the same share of it.
    half = shut_off * (HALF_FLOW_HEAD / SHUT_OFF_HEAD)
    bends = own_or(kinds, "pump_bends", np.array([USUAL_BENDS]))
    valve = kinds["pump_check_valve"].eq(True).to_numpy(dtype=float)[:, None]
    rated_si = rated / LITRES_A_MINUTE
    flow = pump_flow(
        rated_si, lift, shut_off_head=shut_off, half_flow_head=half, bends=bends, check_valves=valve
    )
    hose = own_or(kinds, "pump_hose_m", drawn("flooding_pump_hose_per_metre", trade, cube) * length)
    amperes = own_or(kinds, "pump_amps", pump_amperes(rated_si))
    return Pumps(
        flow * delivered_share(hose_length=hose), amperes, kinds["battery_ah"].to_numpy(dtype=float)[:, None]
    )
