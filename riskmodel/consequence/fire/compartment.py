"""The space a fuel hose leaks into: its volume, the low layer vapour lies in, how air moves through it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.fire.ventilation import blower_rating, natural_flow, natural_vent_area, open_area
from riskmodel.consequence.quantities import by_word, drawn, drawn_share, own_or
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

LITRES_PER_CUBIC_METRE = 1000.0
OUTBOARDS = ("outboard", "sail_outboard")


@dataclass(frozen=True)
class Compartment:
    """Spaces of n kinds in S scenarios, all (n, S).

    ``volume`` [m3] and ``pool``, the part of it vapour lies in; ``vent_area`` [cm2]; ``natural`` and ``when_open``, the
    rates [1/min] at which vapour leaves by the vents and from a space open to the atmosphere; ``open_share`` of such
    boats that are; ``blower`` [m3/min] that leaves the boat, ``blown`` the rate [1/min] it adds.
    """

    volume: FloatArray
    pool: FloatArray
    vent_area: FloatArray
    natural: FloatArray
    when_open: FloatArray
    open_share: FloatArray
    blower: FloatArray
    blown: FloatArray


def compartments(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Compartment:
    """The spaces of n kinds of part from their boats' columns, judged or as the rules ask where one is blank.

    Volume: a share of length cubed. Vents and blower: the least that 33 CFR 183.630 and 183.610 ask of that volume.
    Outboards of unknown vents are partly open to the atmosphere.
    """
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    volume = own_or(kinds, "engine_space_m3", drawn("fire_engine_space", trade, cube) * length**3)
    pool = volume * drawn_share("fire_pooled_share", trade, cube)
    mixing, draught = drawn_share("fire_mixing", trade, cube), drawn("fire_draught", trade, cube)
    vent_area = own_or(kinds, "vent_area_cm2", natural_vent_area(volume))
    rated = own_or(kinds, "blower_flow_lpm", LITRES_PER_CUBIC_METRE * blower_rating(volume))
    blower = rated / LITRES_PER_CUBIC_METRE * drawn_share("fire_blower_output", trade, cube)
    return Compartment(
        volume,
        pool,
        vent_area,
        mixing * natural_flow(vent_area, draught) / pool,
        mixing * natural_flow(open_area(volume), draught) / pool,
        _open_share(kinds, trade, cube),
        blower,
        mixing * blower / pool,
    )


def _open_share(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    share = drawn_share("fire_open_outboard", trade, cube)
    unknown = kinds["vent_area_cm2"].isna().to_numpy()[:, None]
    open_share: FloatArray = np.where(
        unknown, by_word(kinds["propulsion"], dict.fromkeys(OUTBOARDS, share)), 0.0
    )
    return open_share
