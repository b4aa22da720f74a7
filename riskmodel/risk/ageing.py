"""How fast each class ages on each boat: surroundings' rates as judged, and as the fleet's records correct them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.fleet import Fleet
from riskmodel.frames import places_by
from riskmodel.hypercube import WIDTH_90
from riskmodel.life import LifeRows
from riskmodel.life.surroundings import RatePrior, learn_rates
from riskmodel.risk.draws import Draws
from riskmodel.trade import ItemClass, Trade, surrounding_rate, surroundings_of


@dataclass(frozen=True)
class Ageing:
    """Ageing rates of every class in every kind of surroundings the fleet has.

    ``kind``: per vessel_id, the place of its surroundings. ``middle`` and ``spread``: per class, arrays (kinds,
    factors) of log rates and their log standard deviations, 0 where a factor does not matter; ``factors``: their
    names. ``shift`` and ``sd`` (factors,): what the records taught of each factor, in those standard deviations: 0
    and 1 before.
    """

    kind: Mapping[str, int]
    factors: tuple[str, ...]
    middle: Mapping[str, FloatArray]
    spread: Mapping[str, FloatArray]
    shift: FloatArray
    sd: FloatArray

    def speed(self, item_class: str) -> FloatArray:
        """(kinds,) rate at which a class ages, as now believed."""
        rate: FloatArray = np.exp(
            (self.middle[item_class] + self.spread[item_class] * self.shift).sum(axis=1)
        )
        return rate

    def speed_sd(self, item_class: str) -> FloatArray:
        """(kinds,) log standard deviation of that rate."""
        sd: FloatArray = np.sqrt(((self.spread[item_class] * self.sd) ** 2).sum(axis=1))
        return sd

    def drawn_speed(self, item_class: str, draws: Draws) -> FloatArray:
        """(kinds, DRAWS) the same draw by draw; a factor's doubt is one draw for the whole fleet."""
        deviates = np.stack([draws.normal(f"surroundings/{factor}") for factor in self.factors])
        believed = self.shift[:, None] + self.sd[:, None] * deviates
        rate: FloatArray = np.exp(
            self.middle[item_class].sum(axis=1)[:, None] + self.spread[item_class] @ believed
        )
        return rate

    def kinds_of(self, vessel_id: pd.Series) -> npt.NDArray[np.intp]:
        """The place of each vessel's surroundings."""
        return np.asarray(vessel_id.map(dict(self.kind)), dtype=np.intp)


def judged_ageing(fleet: Fleet, trade: Trade) -> Ageing:
    """Rates as the trade tables judge them, for the surroundings the fleet's boats have."""
    columns = sorted({row.column for row in trade.surroundings} | {"propulsion"})
    boats = [{str(k): v for k, v in boat.items()} for boat in fleet.vessels[columns].to_dict("records")]
    factors = tuple(sorted({row.factor for row in trade.surroundings}))
    # Classes that the same rows speak of age alike: their rates are worked out once.
    spoken = {
        name: surroundings_of(trade, trade.classes[name]) for name in sorted(set(fleet.items["item_class"]))
    }
    groups = {rows: name for name, rows in spoken.items()}
    logs = {rows: _log_rates(trade, trade.classes[name], boats, factors) for rows, name in groups.items()}
    together = np.concatenate([each.reshape(len(boats), -1) for each in logs.values()], axis=1)
    _, first, kind = np.unique(np.round(together, 9), axis=0, return_index=True, return_inverse=True)
    middle = {name: logs[rows][first].mean(axis=2) for name, rows in spoken.items()}
    spread = {
        name: (logs[rows][first, :, 1] - logs[rows][first, :, 0]) / WIDTH_90 for name, rows in spoken.items()
    }
    places = dict(zip(fleet.vessels["vessel_id"], (int(place) for place in kind.ravel()), strict=True))
    return Ageing(places, factors, middle, spread, np.zeros(len(factors)), np.ones(len(factors)))


def _log_rates(
    trade: Trade, item_class: ItemClass, boats: Sequence[Mapping[str, object]], factors: tuple[str, ...]
) -> FloatArray:
    """Log rates (boats, factors, 2), low and high, each distinct surroundings worked out once."""
    known: dict[tuple[object, ...], FloatArray] = {}
    rates = []
    for boat in boats:
        key = tuple(boat.values())
        if key not in known:
            found = surrounding_rate(trade, item_class, boat)
            known[key] = np.log([found[factor] for factor in factors])
        rates.append(known[key])
    return np.stack(rates)


def learned_ageing(ageing: Ageing, rows: pd.DataFrame, modes: Mapping[str, tuple[float, float]]) -> Ageing:
    """Ageing after the records: ``rows`` in unscaled years, ``modes`` each class's (shape, log t_0.10).

    Every class's rows speak together of a factor; the classes' lives are held at their modes meanwhile.
    """
    if rows.empty or not ageing.factors:
        return ageing
    kinds = ageing.kinds_of(rows["vessel_id"])
    design, speed = np.zeros((len(rows), len(ageing.factors))), np.ones(len(rows))
    shape, log_age = np.ones(len(rows)), np.zeros(len(rows))
    for name, place in places_by(rows["item_class"]).items():
        design[place] = ageing.spread[name][kinds[place]]
        speed[place] = np.exp(ageing.middle[name].sum(axis=1))[kinds[place]]
        shape[place], log_age[place] = modes[name]
    told = np.flatnonzero((design > 0).any(axis=0))
    if len(told) == 0:
        return ageing
    scaled = LifeRows(rows["lower"] * speed, rows["upper"] * speed, rows["entry"] * speed, rows["count"])
    flat = RatePrior(np.zeros(len(told)), np.ones(len(told)))
    shift, covariance = learn_rates(scaled, design[:, told], shape, log_age, flat)
    new_shift, new_sd = ageing.shift.copy(), ageing.sd.copy()
    new_shift[told], new_sd[told] = shift, np.sqrt(np.diag(covariance))
    return Ageing(ageing.kind, ageing.factors, ageing.middle, ageing.spread, new_shift, new_sd)
