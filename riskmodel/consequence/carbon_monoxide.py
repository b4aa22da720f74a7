"""Exhaust that leaks inside the boat: how much carbon monoxide gathers, what people take up, who comes to harm."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.consequence.exhaust_leaks import ExhaustMode, exhaust_modes
from riskmodel.consequence.follow import Follow, whatever_works
from riskmodel.consequence.quantities import (
    at_least_once,
    by_word,
    drawn,
    drawn_share,
    own_or,
    share_over,
)
from riskmodel.hypercube import Hypercube
from riskmodel.trade import Trade

USES = ("item_class", "fuel", "propulsion", "length_m", "people_aboard", "cabin_m3")
FUELS = ("gasoline", "diesel")
SAIL = ("sail_shaft", "sail_saildrive", "sail_outboard")
MINUTES_PER_HOUR = 60.0
MILLION = 1e6
# Grams in a cubic metre of the pure gas at 20 degC and one atmosphere: an ideal gas of 28.01 g/mol.
GRAMS_PER_CUBIC_METRE = 28.01 / 0.0240551
# Coburn, Forster and Kane 1965 with the usual figures for an adult, from memory: affinity against oxygen, oxygen in
# the lungs' capillaries and dry air [mmHg], diffusing capacity [mL/(min mmHg)], blood [mL], oxygen it holds [mL/mL].
AFFINITY, CAPILLARY_OXYGEN, DRY_AIR = 218.0, 100.0, 713.0
DIFFUSING, BLOOD, OXYGEN_HELD = 30.0, 5500.0, 0.2
MILLILITRES_PER_LITRE = 1000.0


def carbon_monoxide_classes(trade: Trade) -> frozenset[str]:
    """Item classes whose letting go may bring exhaust gas to people."""
    return frozenset(leak.item_class for leak in trade.exhaust_leaks)


def carbon_monoxide_follows(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> dict[str, Follow]:
    """``carbon_monoxide`` and ``injury`` for n kinds of part with the columns USES; nothing without exhaust.

    No barrier item stands against it: an alarm, where such boats have one, is in the chance.
    """
    chance = np.zeros((len(kinds), cube.count))
    burns = kinds["fuel"].isin(FUELS)
    for name in sorted(carbon_monoxide_classes(trade) & set(kinds["item_class"])):
        place = np.flatnonzero((burns & (kinds["item_class"] == name)).to_numpy())
        mine = kinds.iloc[place]
        for mode in exhaust_modes(name, trade, cube):
            each = at_least_once(chance_in_a_run(mine, mode, trade, cube), mode.occasions)
            chance[place] += mode.share * each
    hurt = chance * drawn_share("co_hurts", trade, cube)
    return {"carbon_monoxide": whatever_works(chance), "injury": whatever_works(hurt)}


def chance_in_a_run(kinds: pd.DataFrame, mode: ExhaustMode, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) chance that one run with the leak brings people below to a dangerous uptake.

    Somebody is below, the uptake is over the limit, and neither an alarm nor their own senses get them out in time.
    """
    taken_up = uptake_in_a_run(kinds, mode, trade, cube)
    over = share_over(taken_up, drawn_share("co_dangerous", trade, cube), drawn("co_alike", trade, cube))
    people = own_or(kinds, "people_aboard", drawn("co_people", trade, cube))
    below = at_least_once(drawn_share("co_person_below", trade, cube), people)
    unwarned = (1.0 - drawn_share("co_alarm_fitted", trade, cube)) * drawn_share("co_unheeded", trade, cube)
    chance: FloatArray = _enclosed(kinds, trade, cube) * below * over * unwarned
    return chance


def uptake_in_a_run(kinds: pd.DataFrame, mode: ExhaustMode, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) share of haemoglobin taken up by somebody below until the run is stopped."""
    rise = mean_rise(drawn("co_air_changes", trade, cube), mode.minutes)
    mean = steady_ppm(kinds, mode, trade, cube) * rise
    return carboxyhaemoglobin(mean, mode.minutes, drawn("co_breathing", trade, cube))


def steady_ppm(kinds: pd.DataFrame, mode: ExhaustMode, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) parts per million that a leak comes to where people are, if the engine ran on."""
    gas = engine_gas(kinds, trade, cube) * mode.gas * mode.inside
    return parts_per_million(gas, drawn("co_air_changes", trade, cube) * cabins(kinds, trade, cube))


def engine_gas(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) carbon monoxide [g/h] of the whole exhaust under way."""
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    sails = kinds["propulsion"].isin(SAIL).to_numpy()[:, None]
    power = (
        np.where(sails, drawn("co_power_sail", trade, cube), drawn("co_power_motor", trade, cube)) * length**3
    )
    grams = by_word(kinds["fuel"], {fuel: drawn(f"co_{fuel}_grams", trade, cube) for fuel in FUELS})
    gas: FloatArray = power * grams
    return gas


def cabins(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) volume [m3] that gas gathers in; the usual one for the length where blank or the boat is open."""
    own = kinds.assign(cabin_m3=kinds["cabin_m3"].where(kinds["cabin_m3"] > 0))
    usual = drawn("co_cabin", trade, cube) * kinds["length_m"].to_numpy(dtype=float)[:, None] ** 3
    return own_or(own, "cabin_m3", usual)


def parts_per_million(grams_an_hour: npt.ArrayLike, air_m3_an_hour: npt.ArrayLike) -> FloatArray:
    """Steady carbon monoxide [ppm by volume] of a space that takes so much gas [g/h] and so much fresh air [m3/h].

    Source over air flow, at 20 degC; never over the whole of the air. Raises ParameterError for negative arguments.
    """
    gas = not_negative("grams_an_hour", grams_an_hour) / GRAMS_PER_CUBIC_METRE
    air = not_negative("air_m3_an_hour", air_m3_an_hour)
    # The gas takes part in the flow: with no fresh air at all it fills the space in the end.
    whole = np.maximum(gas + air, np.finfo(float).tiny)
    ppm: FloatArray = MILLION * gas / whole
    return ppm


def mean_rise(changes_an_hour: npt.ArrayLike, minutes: npt.ArrayLike) -> FloatArray:
    """Mean of a strength over its first ``minutes`` from nothing, as a share of the steady strength.

    1 - (1 - exp(-n t)) / (n t) for n air changes. Raises ParameterError for negative arguments.
    """
    times = not_negative("changes_an_hour", changes_an_hour) * not_negative("minutes", minutes)
    through = times / MINUTES_PER_HOUR
    safe = np.maximum(through, 1e-9)
    # Below that the mean is half of n t, which is nothing.
    mean: FloatArray = np.where(through > safe / 2, 1.0 + np.expm1(-safe) / safe, 0.0)
    return mean


def carboxyhaemoglobin(
    ppm: npt.ArrayLike, minutes: npt.ArrayLike, breathing_l_per_min: npt.ArrayLike
) -> FloatArray:
    """Share of haemoglobin bound to carbon monoxide after breathing so many ppm for so long, from nothing.

    Uptake starts at the rate of Coburn, Forster and Kane (1965), p / (B V) with B = 1/D + P/V_A, and ends at Haldane's
    balance x/(1 + x), x = M p / p_O2; between the two an exponential of that start and that end. Raises ParameterError
    for negative arguments.
    """
    pressure = not_negative("ppm", ppm) / MILLION * DRY_AIR
    air = MILLILITRES_PER_LITRE * not_negative("breathing_l_per_min", breathing_l_per_min)
    # 1/B, so that no breath at all takes up nothing.
    uptake = air / (air / DIFFUSING + DRY_AIR)
    taken = pressure * uptake * not_negative("minutes", minutes) / (BLOOD * OXYGEN_HELD)
    ratio = AFFINITY * pressure / CAPILLARY_OXYGEN
    balance = ratio / (1.0 + ratio)
    # With no gas both are 0 and their quotient is nothing.
    safe = np.maximum(balance, np.finfo(float).tiny)
    bound: FloatArray = -balance * np.expm1(-taken / safe)
    return bound


def _enclosed(kinds: pd.DataFrame, trade: Trade, cube: Hypercube) -> FloatArray:
    """(n, S) share of such boats with a cabin, and open ones at the little that gathers on them."""
    length = kinds["length_m"].to_numpy(dtype=float)[:, None]
    sails = kinds["propulsion"].isin(SAIL).to_numpy()[:, None]
    half = np.where(
        sails, drawn("co_cabin_length_sail", trade, cube), drawn("co_cabin_length_motor", trade, cube)
    )
    usual = share_over(length, half, drawn("co_cabin_steepness", trade, cube))
    own = kinds["cabin_m3"].to_numpy(dtype=float)[:, None]
    cabin = np.where(np.isnan(own), usual, own > 0)
    enclosed: FloatArray = cabin + (1.0 - cabin) * drawn_share("co_open_boat", trade, cube)
    return enclosed
