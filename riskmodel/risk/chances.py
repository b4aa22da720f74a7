"""Chances of letting go, part by part within a class: over the whole posterior, and draw by draw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, weighted_quantile
from riskmodel.life import Life
from riskmodel.life.clocks import THREE_POINTS, chance_by_both, chance_by_uncertain_hours
from riskmodel.life.life import fewer_nodes
from riskmodel.life.looks import Looks, chance_after_looks
from riskmodel.life.lots import chance_in_lot
from riskmodel.life.weibull import failure_probability
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.parts import Parts, pick

# Weights of the low, typical and high share of owners who renew at the trade interval (judgement).
SHARE_WEIGHTS = np.array([0.25, 0.5, 0.25])


@dataclass(frozen=True)
class Parameters:
    """Weighted sets of a class's parameters, (m,): shapes and log scales, weights, which share of renewing owners
    (0, 1, 2) goes with each, and shapes and log scales of a life by running hours (None: the class has one clock)."""

    shape: FloatArray
    log_scale: FloatArray
    weight: FloatArray
    owner: npt.NDArray[np.intp]
    by_hours: tuple[FloatArray, FloatArray] | None = None

    @property
    def life(self) -> tuple[FloatArray, FloatArray]:
        """Shapes and log scales."""
        return self.shape, self.log_scale


@dataclass(frozen=True)
class Chances:
    """(n, m) chance of letting go by the horizon; ``clean``: how likely the looks on record were to find nothing."""

    chance: FloatArray
    clean: FloatArray


def posterior_parameters(life: Life) -> Parameters:
    """Every node of the posterior."""
    nodes = life.nodes
    owner = np.zeros(len(nodes.weight), dtype=np.intp)
    return Parameters(np.exp(nodes.log_shape), nodes.log_scale, nodes.weight, owner)


def drawn_parameters(name: str, life: Life, hours: Life | None, draws: Draws) -> Parameters:
    """Equally weighted draws of a class's life; the owners' share is one draw for the whole fleet."""
    shape, log_scale = draws.life(name, life)
    owner = np.searchsorted(np.cumsum(SHARE_WEIGHTS)[:-1], draws.uniform("owners"))
    by_hours = None if hours is None else draws.life(f"{name}/hours", hours)
    return Parameters(shape, log_scale, np.full(DRAWS, 1 / DRAWS), owner, by_hours)


def middle_parameters(parameters: Parameters) -> Parameters:
    """One set of parameters, the weighted middle of these: enough for ratios that hardly depend on the life."""
    hours = parameters.by_hours
    return Parameters(
        np.array([np.exp(np.log(parameters.shape) @ parameters.weight)]),
        np.array([parameters.log_scale @ parameters.weight]),
        np.ones(1),
        np.ones(1, dtype=np.intp),
        None if hours is None else (np.array([np.median(hours[0])]), np.array([np.median(hours[1])])),
    )


def chance_of_one(parts: Parts, parameters: Parameters, horizon: FloatArray) -> FloatArray:
    """(n, m) chance that one such part lets go by ``horizon`` (n,) years from the day, since last known to work."""
    return chances_of_one(parts, parameters, horizon).chance


def chances_of_one(parts: Parts, parameters: Parameters, horizon: FloatArray) -> Chances:
    """That chance, with how likely its looks were to be clean; lots and running hours are in the chance."""
    shape = (len(parts.age), len(parameters.shape))
    chance, clean = np.empty(shape), np.ones(shape)
    ahead = horizon * parts.reach
    looked, known = parts.looked, parts.cell < 0
    plain = known & ~looked
    speed = parts.speed[parts.kind[plain]]
    span = (parts.gap + ahead)[plain, None] * speed
    chance[plain] = failure_probability(parts.age[plain, None] * speed, span, *parameters.life)
    seen = np.flatnonzero(known & looked)
    if len(seen):
        chance[seen], clean[seen] = _after_looks(pick(parts, seen), parameters, ahead[seen])
    for here, gap, reach in _alike(parts, ahead, ~known & ~looked):
        chance[here] = _unknown_age(parts, here, parameters, (gap, reach))
    for some in runs(np.flatnonzero(~known & looked), 64):
        chance[some], clean[some] = _unknown_after_looks(pick(parts, some), parameters, ahead[some])
    return Chances(_by_hours(parts, parameters, _in_lots(parts, chance), ahead), clean)


def chance_of_any(one: FloatArray, quantity: FloatArray) -> FloatArray:
    """Chance that any of ``quantity`` (n,) like parts lets go; below 1 it is the share of boats that carry one."""
    any_of: FloatArray = -np.expm1(quantity[:, None] * np.log1p(-np.minimum(one, 1 - 1e-15)))
    return any_of


def one_of(any_of: FloatArray, quantity: FloatArray) -> FloatArray:
    """The chance of one part from that of any of ``quantity`` (n,), along the first axis (chance_of_any)."""
    power = quantity.reshape(-1, *(1,) * (any_of.ndim - 1))
    one: FloatArray = -np.expm1(np.log1p(-np.minimum(any_of, 1 - 1e-15)) / power)
    return one


def quadrature_mean(parts: Parts, life: Life, pace_sd: FloatArray, horizon: FloatArray) -> FloatArray:
    """Mean chance (n,) that any of a row's parts lets go, by the calendar's clock and leaving looks aside.

    Over every node of the posterior, every owner where the age is unknown, and the surroundings' doubt: ``pace_sd``
    (kinds,) is the log standard deviation of the ageing rates in ``parts``, taken at three Gauss-Hermite points.
    """
    nodes = posterior_parameters(life), posterior_parameters(fewer_nodes(life))
    mixed = np.tensordot(SHARE_WEIGHTS, parts.weights, axes=(0, 1))[:, None]
    plain = replace(parts, looks=None, weights=np.broadcast_to(mixed, parts.weights.shape))
    mean = np.zeros(len(parts.age))
    doubtful, unknown = pace_sd[parts.kind] > 0, parts.cell >= 0
    for deviate, weight in THREE_POINTS:
        # Where the pace is sure the middle point stands for all three.
        share = np.where(doubtful, weight, float(deviate == 0.0))
        paced = replace(plain, speed=parts.speed * np.exp(deviate * pace_sd)[:, None])
        for loose in (False, True):
            for some in runs(np.flatnonzero((share > 0) & ((unknown | doubtful) == loose))):
                chosen, over = pick(paced, some), nodes[loose]
                chances = chance_of_any(chance_of_one(chosen, over, horizon[some]), chosen.quantity)
                mean[some] += share[some] * (chances @ over.weight)
    return mean


def node_interval(parts: Parts, life: Life, horizon: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Central 90 % interval (n,) over the posterior's nodes, for parts with no doubt beside the life's own."""
    nodes = posterior_parameters(life)
    bounds = [
        weighted_quantile(
            chance_of_any(chance_of_one(pick(parts, some), nodes, horizon[some]), parts.quantity[some]),
            nodes.weight,
            [0.05, 0.95],
        )
        for some in runs(np.arange(len(parts.age)))
    ]
    low, high = np.concatenate(bounds, axis=1) if bounds else np.zeros((2, 0))
    return low, high


def match_mean(drawn: FloatArray, mean: FloatArray) -> FloatArray:
    """Draws (n, m) with one exponent a row on survival, so that their plain mean is ``mean`` (n,)."""
    hazard = -np.log1p(-np.minimum(drawn, 1 - 1e-15))
    power = np.ones((len(mean), 1))
    for _ in range(3):
        whole = np.exp(-power * hazard)
        slope = np.maximum((hazard * whole).mean(axis=1, keepdims=True), 1e-300)
        power = np.clip(power - ((1 - whole).mean(axis=1, keepdims=True) - mean[:, None]) / slope, 0.2, 5.0)
    matched: FloatArray = -np.expm1(-power * hazard)
    return matched


def _after_looks(parts: Parts, parameters: Parameters, ahead: FloatArray) -> tuple[FloatArray, FloatArray]:
    assert parts.looks is not None
    looks = Looks(parts.age[:, None] + parts.looks.age, parts.looks.miss)
    speed = parts.speed[parts.kind]
    return chance_after_looks(parts.age, ahead, looks, parts.windows, parameters.life, speed)


def _unknown_age(
    parts: Parts, here: npt.NDArray[np.intp], parameters: Parameters, times: tuple[float, float]
) -> FloatArray:
    """(here, m) averaged over the ages these parts may have; all share a gap, a reach and surroundings."""
    gap, reach = times
    speed = parts.speed[parts.kind[here[0]]]
    start = np.zeros_like(parts.ages) if np.isnan(gap) else np.maximum(parts.ages - gap, 0.0)
    span = (parts.ages - start + reach)[:, None] * speed
    by_age = failure_probability(start[:, None] * speed, span, *parameters.life)
    chances = np.empty((len(here), len(parameters.shape)))
    for owner in np.unique(parameters.owner):
        mine = parameters.owner == owner
        chances[:, mine] = parts.weights[parts.cell[here], owner] @ by_age[:, mine]
    return chances


def _unknown_after_looks(
    parts: Parts, parameters: Parameters, ahead: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """(n, m) for parts of unknown age: their possible ages weighed by how likely each leaves the looks clean.

    What looks do at each age is worked out at the class's middle life; the chance at each age draw by draw.
    """
    assert parts.looks is not None
    count, spread = len(parts.age), len(parts.ages)
    ages, reach = np.tile(parts.ages, count), np.repeat(ahead, spread)
    # A look from before the part can have been there is a look at nothing: it drops out for the younger ages.
    back = ages[:, None] + np.repeat(parts.looks.age, spread, axis=0)
    looks = Looks(np.where(back >= 0, back, -np.inf), np.repeat(parts.looks.miss, spread, axis=0))
    speed = np.repeat(parts.speed[parts.kind], spread, axis=0)
    pace = np.median(speed, axis=1, keepdims=True)
    middle = middle_parameters(parameters).life
    looked, clean = chance_after_looks(ages, reach, looks, parts.windows, middle, pace)
    plain = failure_probability(ages[:, None] * pace, reach[:, None] * pace, *middle)
    lowered = np.minimum(looked / np.maximum(plain, np.finfo(float).tiny), 1.0)
    by_age = failure_probability(ages[:, None] * speed, reach[:, None] * speed, *parameters.life) * lowered
    likely = parts.weights[parts.cell] * clean.reshape(count, 1, spread)
    total = likely.sum(axis=2)
    mixed = (likely / total[:, :, None])[:, parameters.owner]
    chance = np.einsum("nma,nam->nm", mixed, by_age.reshape(count, spread, -1))
    return chance, total[:, parameters.owner]


def _in_lots(parts: Parts, chance: FloatArray) -> FloatArray:
    """Chances of parts in a maker's lot, averaged over the lot's factor."""
    if not (parts.lot >= 0).any():
        return chance
    result = chance.copy()
    for number, lot in enumerate(parts.lots):
        here = parts.lot == number
        if here.any():
            raised = -np.expm1(parts.lot_correction * np.log1p(-np.minimum(chance[here], 1 - 1e-15)))
            result[here] = chance_in_lot(raised, lot)
    return result


def _by_hours(parts: Parts, parameters: Parameters, chance: FloatArray, ahead: FloatArray) -> FloatArray:
    """Chances with the running-hours clock beside the calendar's, for a class that has both; averaged over the hours
    a year in every draw, so that means are the quadrature's."""
    if parameters.by_hours is None:
        return chance
    years = np.where(np.isnan(parts.gap), 0.0, parts.gap) + ahead
    run = parts.hours, parts.unmetered
    hours = chance_by_uncertain_hours(run, years, parts.rate, parts.rate_sd, parameters.by_hours)
    return chance_by_both(chance, hours)


def _alike(
    parts: Parts, ahead: FloatArray, some: npt.NDArray[np.bool_]
) -> Iterator[tuple[npt.NDArray[np.intp], float, float]]:
    """Parts of unknown age in groups of one gap, one horizon and one surroundings."""
    places = np.flatnonzero(some)
    keys = np.column_stack([np.where(np.isnan(parts.gap), -1.0, parts.gap), ahead, parts.kind])[places]
    kinds, place = np.unique(keys, axis=0, return_inverse=True)
    for number, (gap, reach, _) in enumerate(kinds):
        yield places[place.ravel() == number], (np.nan if gap < 0 else gap), reach


def runs(places: npt.NDArray[np.intp], size: int = 256) -> Iterator[npt.NDArray[np.intp]]:
    """The places, so many at a time, to keep memory flat."""
    for start in range(0, len(places), size):
        yield places[start : start + size]
