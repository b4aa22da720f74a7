"""How long each way in takes to spoil a boat and to sink it: no pump, one on its battery, one on the mains."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.battery import endurance
from riskmodel.consequence.flooding.boats import Boats
from riskmodel.consequence.flooding.filling import filling_time, leak
from riskmodel.consequence.flooding.inflow import inflow_rate
from riskmodel.consequence.flooding.openings import Ways
from riskmodel.consequence.flooding.pumps import Pumps


@dataclass(frozen=True)
class Times:
    """Seconds (n, S, WAYS) to one state of the boat: ``alone`` no pump works; ``battery`` and ``mains`` it does."""

    alone: FloatArray
    battery: FloatArray
    mains: FloatArray


def times_to_spoil_and_sink(ways: Ways, boats: Boats, pumps: Pumps) -> tuple[Times, Times]:
    """Times until water stands over the floor, and until the boat goes down."""
    spoilt = _times(ways, boats, pumps, (boats.volume * boats.partial, boats.partial))
    return spoilt, _times(ways, boats, pumps, (boats.sinking_volume, np.ones_like(boats.partial)))


def _times(ways: Ways, boats: Boats, pumps: Pumps, level: tuple[FloatArray, FloatArray]) -> Times:
    """Times to a volume (n, S) [m3], which is a share (n, S) of that to going down."""
    volume, share = (each[:, :, None] for each in level)
    depth, flow = ways.depth[:, :, None], pumps.flow[:, :, None]
    # The head goes in a straight line with the water inside, to its settled share when the boat goes down.
    settled = depth * (1.0 - (1.0 - boats.settled[:, :, None]) * share)
    coefficient = boats.coefficient[:, :, None]
    daily = boats.daily[:, :, None]
    hole = leak(ways.area, depth, discharge_coefficient=coefficient, settled_depth=settled, background=daily)
    coming = inflow_rate(ways.area, depth, coefficient) + daily
    lasts = endurance(coming, flow, pumps.battery_ah[:, :, None], pumps.amperes[:, :, None])
    return Times(
        alone=filling_time(volume, hole),
        battery=filling_time(volume, hole, pump=flow, pump_seconds=lasts),
        mains=filling_time(volume, hole, pump=flow),
    )
