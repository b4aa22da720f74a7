"""What an anchor line, chain or joint that has let go comes to: the boat adrift, aground or into another boat."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.follow import Follow, whatever_works
from riskmodel.consequence.holding.drift import (
    WINDS,
    Crew,
    Shore,
    chance_lost,
    minutes_to_shore,
    share_of_nights,
)
from riskmodel.consequence.holding.gear import (
    chain_strength,
    chain_strength_left,
    frontal_area,
    rope_strength,
    rope_strength_left,
    share_parting,
    windage_load,
)
from riskmodel.consequence.quantities import MOST, at_least_once, by_word, drawn, drawn_share, own_or
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

ROPE, CHAIN, JOINT = "rode_rope", "rode_chain", "rode_shackle_snubber"
USES = ("item_class", "propulsion", "kept", "length_m", "chain_mm", "rope_mm", "people_aboard")
OUT_OF_THE_WATER = ("trailer", "rack", "ashore")
# The wind [m/s] at which the steps are shown: a gust of some 35 knots.
FRESH = 18.0


def holding_classes(trade: Trade) -> frozenset[str]:
    """The classes this area answers for, of those the trade has."""
    return frozenset({ROPE, CHAIN, JOINT} & set(trade.classes))


def holding_follows(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> dict[str, Follow]:
    """Loss of holding and injury for kinds (n rows with the columns of USES), whatever barriers work.

    A weakened part parts in the nights whose wind asks more than is left of its strength; adrift, the boat is lost
    to the shore unless somebody aboard stops her in time. A parting that does no harm is not taken to end the
    danger: the next joint is as old (judgement, on the safe side).
    """
    nights = nights_in_danger(kinds, trade, cube)
    mine = kinds["item_class"].isin(holding_classes(trade)).to_numpy()[:, None]
    wind = share_of_nights(drawn("holding_night_wind", trade, cube))
    lost = wind * _lost(kinds, trade, cube)
    worn = at_least_once(np.sum(lost * _parting(kinds, trade, cube), axis=2), nights)
    # A pin unscrews in any wind, once.
    pins = np.where(
        (kinds["item_class"] == JOINT).to_numpy()[:, None], drawn_share("holding_pins", trade, cube), 0.0
    )
    undone = np.sum(lost, axis=2) * at_least_once(np.array(MOST), nights)
    adrift = np.where(mine, np.minimum(pins * undone + (1.0 - pins) * worn, MOST), 0.0)
    return {
        "loss_of_holding": whatever_works(adrift),
        "injury": whatever_works(adrift * _hurt(kinds, trade, cube)),
    }


def holding_steps(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> pd.DataFrame:
    """The means behind each kind (n rows, its index kept), for ``explain``.

    ``nights`` at anchor while the part is weak, ``strength`` [N] of old sound gear, ``load`` [N] on it in a
    strong gust (FRESH), ``parting`` share of weakened parts which that breaks, ``lost`` P(aground or into another |
    adrift in it).
    """
    place = int(np.searchsorted(WINDS, FRESH))
    steps = {
        "nights": nights_in_danger(kinds, trade, cube),
        "strength": gear_strength(kinds, trade, cube),
        "load": _load(kinds, trade, cube)[..., place],
        "parting": _parting(kinds, trade, cube)[..., place],
        "lost": _lost(kinds, trade, cube)[..., place],
    }
    return pd.DataFrame({name: values.mean(axis=1) for name, values in steps.items()}, index=kinds.index)


def nights_in_danger(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) nights at anchor, days at anchor included, while a part is weak and nobody has found it."""
    every = {name: drawn(f"holding_nights_{name}", trade, cube) for name in trade.propulsions}
    often = np.ones((len(kinds), cube.count))
    often[kinds["kept"].isin(OUT_OF_THE_WATER).to_numpy()] = drawn("holding_nights_ashore", trade, cube)
    often[(kinds["kept"] == "mooring").to_numpy()] = drawn("holding_nights_mooring", trade, cube)
    weak = drawn("holding_years_weak", trade, cube)
    return by_word(kinds["propulsion"], every) * often * weak


def _parting(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S, winds) share of weakened parts that each wind breaks."""
    least = drawn("holding_strength_left_least", trade, cube)[:, None]
    most = drawn("holding_strength_left_most", trade, cube)[:, None]
    strength = gear_strength(kinds, trade, cube)[..., None]
    return share_parting(_load(kinds, trade, cube), strength, least, most)


def _load(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S, winds) pull [N] on the gear in each wind, snatching counted."""
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    area = frontal_area(length, drawn("holding_frontal_area", trade, cube))[..., None]
    drag = drawn("holding_drag_coefficient", trade, cube)[:, None]
    return windage_load(WINDS, area, drag) * drawn("holding_snatch", trade, cube)[:, None]


def gear_strength(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) strength [N] of gear that is old but sound: chain worn to its limit, rope wet and often tied.

    The part's own ``chain_mm`` or ``rope_mm`` where it has one, else what is usual for the boat's length.
    """
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    link = own_or(kinds, "chain_mm", length * drawn("holding_chain_mm_per_metre", trade, cube))
    worn = chain_strength_left(_practice(trade, cube, CHAIN, "wear_limit", "loss of link diameter"))
    chain = chain_strength(link, drawn("holding_chain_stress", trade, cube)) * worn
    thick = own_or(kinds, "rope_mm", length * drawn("holding_rope_mm_per_metre", trade, cube))
    knot = _practice(trade, cube, ROPE, "strength_loss", "at a knot") * drawn_share(
        "holding_knotted", trade, cube
    )
    left = rope_strength_left(_practice(trade, cube, ROPE, "strength_loss", "nylon, wet"), knot)
    rope = rope_strength(thick, drawn("holding_rope_stress", trade, cube)) * left
    strength: FloatArray = np.where((kinds["item_class"] == ROPE).to_numpy()[:, None], rope, chain)
    return strength


def _lost(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S, winds) P(aground or into another boat | adrift in each wind)."""

    def each(name: str) -> FloatArray:
        return drawn(f"holding_{name}", trade, cube)[:, None]

    shore = Shore(
        drawn_share("holding_lee", trade, cube)[:, None],
        *(each(name) for name in ("distance", "drift_share", "drift_slowest", "drift_fastest")),
    )
    asleep = {name: drawn_share(f"holding_asleep_{name}", trade, cube) for name in trade.propulsions}
    mooring = (kinds["kept"] == "mooring").to_numpy()[:, None]
    nobody, more = (
        drawn_share("holding_nobody", trade, cube),
        drawn_share("holding_nobody_mooring", trade, cube),
    )
    crew = Crew(
        np.where(mooring, np.maximum(more, nobody), nobody)[..., None],
        by_word(kinds["propulsion"], asleep)[..., None],
        each("awake_minutes"),
        each("asleep_minutes"),
        each("engine_fails") * (1.0 - drawn_share("holding_second_anchor", trade, cube)[:, None]),
    )
    return chance_lost(minutes_to_shore(WINDS, shore), shore, crew)


def _hurt(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) P(somebody is hurt | aground or into another boat)."""
    people = own_or(kinds, "people_aboard", drawn("holding_people_aboard", trade, cube))
    return at_least_once(drawn_share("holding_hurt", trade, cube), people)


def _practice(trade: Trade, cube: Hypercube, item_class: str, measure: str, condition: str) -> FloatArray:
    """(S,) draws of a measure of practice.csv given in percent, as a share."""
    wanted = (item_class, measure, condition)
    row = next(row for row in trade.practice if (row.item_class, row.measure, row.condition) == wanted)
    name = "/".join(wanted)
    values: FloatArray = cube.between(name, np.array([row.low]), np.array([row.high]))[0] / 100.0
    return values
