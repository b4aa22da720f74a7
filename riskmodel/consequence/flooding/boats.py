"""What decides on each boat whether water wins: volume, pump, battery, rain, and who comes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.flooding.attendance import DAY
from riskmodel.consequence.flooding.filling import compartment_volume, sinking_volume
from riskmodel.consequence.flooding.rain import daily_inflow
from riskmodel.consequence.quantities import drawn, drawn_share, own_or
from riskmodel.consequence.states import launched
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

# Where a boat lies between trips decides what share of the season the sea can reach it with nobody aboard.
DRY = {"on_trailer": "visit_trailer_afloat_share", "ashore": "visit_ashore_afloat_share"}


@dataclass(frozen=True)
class Boats:
    """Boats in S scenarios, all (n, S), n kinds.

    ``volume`` [m3] the hull takes, ``sinking_volume`` [m3] at which it goes down (inf where one flooded compartment
    leaves it afloat); ``partial``: share of it that spoils; ``settled``: share of the head left then;
    ``coefficient`` of discharge; ``visits`` [s] between; ``afloat``: share of the time the sea can reach it;
    ``neighbours``: chance a day that somebody nearby notices; ``low``: share of the time it lies low; ``dead``:
    chance that the battery is dead; ``cut``: chance that the pump lives on its battery; ``clogs``; ``daily`` [m3/s]:
    rain and drips.
    """

    volume: FloatArray
    sinking_volume: FloatArray
    partial: FloatArray
    settled: FloatArray
    coefficient: FloatArray
    visits: FloatArray
    afloat: FloatArray
    neighbours: FloatArray
    low: FloatArray
    dead: FloatArray
    cut: FloatArray
    clogs: FloatArray
    daily: FloatArray


def boats_of(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Boats:
    """Boats of the kinds: ``length_m, flooding_volume_m3, hulls, compartments, state, kept, visited_every_days,
    shore_power``."""
    shape = len(kinds), cube.count

    def every(name: str) -> FloatArray:
        return np.broadcast_to(drawn_share(name, trade, cube), shape)

    moored = (kinds["kept"] == "mooring").to_numpy()[:, None]
    power = kinds["shore_power"].to_numpy(dtype=bool)[:, None]
    state = kinds["state"].to_numpy()
    afloat = np.ones(shape)
    for dry, name in DRY.items():
        afloat[state == dry] = drawn_share(name, trade, cube)
    # Laid up ashore and not kept there: no hours at the ramp.
    afloat[~launched(kinds).to_numpy(dtype=bool)] = 0.0
    # On a trailer the nights away are what counts, with the crew back next day.
    visits = np.where(afloat < 1, 1.0, kinds["visited_every_days"].to_numpy(dtype=float)[:, None]) * DAY
    volume, rooms = _volume(kinds, trade, cube), _compartments(kinds)
    several = (kinds["hulls"].to_numpy(dtype=float) > 1)[:, None]
    reserve = np.where(several, every("flooding_multihull_reserve_share"), every("flooding_reserve_share"))
    alone = every("flooding_battery_dead_alone")
    # A charger never makes a battery worse.
    charged = np.minimum(every("flooding_battery_dead_charged"), alone)
    return Boats(
        volume=compartment_volume(volume, rooms),
        sinking_volume=sinking_volume(volume, rooms, reserve),
        partial=every("flooding_partial_share"),
        settled=every("flooding_settled_head"),
        coefficient=every("flooding_discharge_coefficient"),
        visits=visits,
        afloat=afloat,
        neighbours=np.where(
            moored, every("visit_neighbours_a_day_mooring"), every("visit_neighbours_a_day_afloat")
        ),
        low=every("visit_low_in_water_share"),
        dead=np.where(power, charged, alone),
        cut=np.where(power, every("flooding_power_cut"), 1.0),
        clogs=every("flooding_pump_clogs"),
        daily=daily_inflow(kinds, trade, cube),
    )


def _volume(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    usual = drawn("flooding_volume_per_cubic_metre", trade, cube) * length**3
    return own_or(kinds, "flooding_volume_m3", usual)


def _compartments(kinds: pd.DataFrame) -> FloatArray:
    """(n, 1) watertight compartments: each hull of a multihull is one at least."""
    own = kinds[["hulls", "compartments"]].to_numpy(dtype=float)
    most: FloatArray = np.maximum(np.nan_to_num(own, nan=1.0).max(axis=1), 1.0)[:, None]
    return most
