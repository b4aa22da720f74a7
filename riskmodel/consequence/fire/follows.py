"""What fire follows once a fuel hose or a riser lets go, and who is hurt by it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence.fire.compartment import Compartment, compartments
from riskmodel.consequence.fire.course import Habits, Leak, course_of, lit
from riskmodel.consequence.fire.vapour import Fuel, at_temperature, vapour_volume
from riskmodel.consequence.follow import Follow
from riskmodel.consequence.quantities import (
    at_least_once,
    by_word,
    drawn,
    drawn_share,
    leak_draws,
    mode_shares,
    own_or,
)
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

USES = (
    "item_class",
    "fuel",
    "propulsion",
    "length_m",
    "climate",
    "people_aboard",
    "engine_space_m3",
    "vent_area_cm2",
    "blower_flow_lpm",
)
FUELS = ("gasoline", "diesel")
CLIMATES = ("cold", "temperate", "hot", "tropical")
RISER = "exhaust_riser"
PERCENT = 0.01
MINUTES_PER_HOUR = 60.0


def fire_classes(trade: Trade) -> frozenset[str]:
    """Item classes whose letting go may burn the boat."""
    return frozenset(leak.item_class for leak in trade.fuel_leaks) | {RISER}


def fire_follows(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> dict[str, Follow]:
    """``fire_explosion`` and ``injury`` for n kinds of part with the columns USES; nothing burns without fuel.

    Barrier first: fume clearing (blower and duct work); there is no second. Being hurt is the fire times the chance
    that at least one of the people aboard is.
    """
    chance = np.zeros((len(kinds), cube.count, 2))
    hurt = np.zeros((len(kinds), cube.count))
    burns = kinds["fuel"].isin(FUELS)
    for name in sorted(fire_classes(trade) & set(kinds["item_class"])):
        place = np.flatnonzero((burns & (kinds["item_class"] == name)).to_numpy())
        if not len(place):
            continue
        mine = kinds.iloc[place]
        chance[place] = _riser(mine, trade, cube) if name == RISER else hose_fires(mine, trade, cube)
        hurt[place] = _hurt(mine, trade, cube)
    whichever = chance[:, :, [0, 1, 0, 1]]
    factor = np.ones_like(hurt)
    return {
        "fire_explosion": Follow(whichever, factor),
        "injury": Follow(whichever * hurt[:, :, None], factor),
    }


def hose_fires(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S, 2): P(fire | a fuel hose of one class lets go), the blower moving no air and working.

    Summed over the ways it leaks, each over the occasions it leaks on before somebody finds it.
    """
    space, fuel = compartments(kinds, trade, cube), fuels(kinds, trade, cube)
    habits = habits_of(kinds, trade, cube)
    chance = np.zeros((len(kinds), cube.count, 2))
    for leak in fuel_leaks(str(kinds["item_class"].iloc[0]), trade, cube).values():
        for number, burning in enumerate(_in_the_space(leak, fuel, space, habits)):
            chance[:, :, number] += leak.share * at_least_once(burning, leak.occasions)
    return chance


def fuel_leaks(item_class: str, trade: Trade, cube: Hypercube) -> dict[str, Leak]:
    """The ways in which a class leaks fuel, by mode, drawn; their shares add to 1 in every scenario."""
    rows = [leak for leak in trade.fuel_leaks if leak.item_class == item_class]
    shares = mode_shares("fuel_leaks", rows, cube)
    return {
        row.mode: Leak(
            share,
            leak_draws("fuel_leaks", row, "litres", cube),
            leak_draws("fuel_leaks", row, "minutes", cube),
            np.minimum(leak_draws("fuel_leaks", row, "hot", cube), 1.0),
            leak_draws("fuel_leaks", row, "occasions", cube),
        )
        for row, share in zip(rows, shares, strict=True)
    }


def fuels(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Fuel:
    """The fuels of n kinds at the temperature of their climate's boating season, (n, S) each field."""

    def each(quantity: str) -> FloatArray:
        return by_word(kinds["fuel"], {fuel: drawn(f"fire_{fuel}_{quantity}", trade, cube) for fuel in FUELS})

    climates = {climate: drawn(f"fire_air_{climate}", trade, cube) for climate in CLIMATES}
    at_twenty = Fuel(
        vapour_volume(each("density"), each("molar_mass")),
        PERCENT * each("saturation"),
        PERCENT * each("lower_limit"),
        each("evaporation"),
    )
    return at_temperature(
        at_twenty, by_word(kinds["climate"], climates), drawn("fire_vapour_doubling", trade, cube)
    )


def habits_of(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> Habits:
    """How such boats are started and what sparks aboard them."""
    lights = {fuel: drawn_share(f"fire_{fuel}_hot_lights", trade, cube) for fuel in FUELS}
    return Habits(
        drawn_share("fire_blower_share", trade, cube),
        drawn("fire_blower_minutes", trade, cube),
        drawn("fire_sparks_an_hour", trade, cube) / MINUTES_PER_HOUR,
        drawn_share("fire_spark_at_start", trade, cube),
        by_word(kinds["fuel"], lights),
        drawn("fire_alike", trade, cube),
    )


def _in_the_space(
    leak: Leak, fuel: Fuel, space: Compartment, habits: Habits
) -> tuple[FloatArray, FloatArray]:
    closed = lit(course_of(leak, fuel, space, space.natural, habits), leak, fuel, habits)
    if not space.open_share.any():
        return closed
    airy = lit(course_of(leak, fuel, space, space.when_open, habits), leak, fuel, habits)
    still, works = (shut + space.open_share * (wide - shut) for shut, wide in zip(closed, airy, strict=True))
    return still, works


def _riser(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """Hot gas on what lies about it, or a hose run dry: no vapour, so a blower changes nothing."""
    chance = drawn_share("fire_riser_leaks_hot", trade, cube) * drawn_share("fire_riser_lights", trade, cube)
    return np.broadcast_to(chance[None, :, None], (len(kinds), cube.count, 2))


def _hurt(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """P(at least one person aboard is hurt | fire): gasoline flashes or explodes, the rest burns slowly."""
    flashes = ((kinds["fuel"] == "gasoline") & (kinds["item_class"] != RISER)).to_numpy()[:, None]
    each = np.where(
        flashes, drawn_share("fire_flash_hurts", trade, cube), drawn_share("fire_slow_hurts", trade, cube)
    )
    people = own_or(kinds, "people_aboard", drawn("fire_people", trade, cube))
    return at_least_once(each, people)
