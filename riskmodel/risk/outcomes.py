"""Joins chances of letting go with what follows: end states and losses per part, adding up to the boat."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import Following, barriers_against, drawn_losses, most_lost
from riskmodel.frames import places_by
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.trade import Trade

WORKERS = 2
SINKING = ("sinking_unattended", "sinking_under_way")
# A product below this has lost its digits, and is nothing.
UNDERFLOW = 1e-250


@dataclass(frozen=True)
class Outcomes:
    """Draw-wise results.

    ``loss`` (items, DRAWS): each part's share of its boat's expected loss. ``probability``: per end state, the mean
    chance over the horizon that this part brings it about (items,). ``kill`` (items, DRAWS): the same chance draw by
    draw, all end states that can kill together; ``sink``: that of sinking. ``boats``: per end state, the chance
    (vessels, DRAWS) that a boat comes to it, by its parts or otherwise. ``background``: per end state, the mean chance
    (vessels,) that rain, snow and waves bring it about; ``background_loss`` (vessels,) what that costs in the mean.
    ``guards``: per barrier and end state, the loss (vessels, DRAWS) that a rise of its chance to work from 0 to 1
    would avert, at the rate at which it averts it now.
    """

    loss: FloatArray
    kill: FloatArray
    sink: FloatArray
    probability: Mapping[str, FloatArray]
    boats: Mapping[str, FloatArray]
    background: Mapping[str, FloatArray]
    background_loss: FloatArray
    guards: Mapping[tuple[str, str], FloatArray]


@dataclass(frozen=True)
class Consequences:
    """What may follow in this fleet: ``following``, ``background`` (chances by end state, (vessels, S,
    BARRIER_STATES)), ``losses`` (consequence.vessel_losses) and ``vessel`` (items,), each item's place in the vessels
    table."""

    following: Following
    background: Mapping[str, FloatArray]
    losses: pd.DataFrame
    vessel: npt.NDArray[np.intp]
    vessels: int


@dataclass(frozen=True)
class Mixed:
    """P(end state | lets go) (rows, DRAWS) over the barriers as they are, and how fast it falls (rows, DRAWS) with
    the chance that each of the barriers works."""

    chance: FloatArray
    falls: tuple[FloatArray, ...]


@dataclass(frozen=True)
class _Brought:
    """One end state: the parts that can bring it about, in rows, then every boat's background where it has one."""

    place: npt.NDArray[np.intp]
    share: FloatArray
    boats: FloatArray
    costs: FloatArray
    falls: tuple[FloatArray, ...]


def outcomes(
    chance: FloatArray,
    consequences: Consequences,
    working: Mapping[str, FloatArray],
    trade: Trade,
    draws: Draws,
) -> Outcomes:
    """End states and losses of every part (methods: consequence; shares of competing parts).

    Parameters
    ----------
    chance : (items, DRAWS)
        Chance of letting go over the horizon; known defects included.
    working : mapping
        Per barrier class, the chance that at least one works (vessels, DRAWS); not in it where none is fitted.
    """
    items, vessels = len(chance), consequences.vessels
    rows = consequences.following.rows
    present = set(rows["end_state"]) | set(consequences.background)
    states = [name for name in trade.end_states if name in present]
    ready = {
        name: [barrier_ready(each.needs, working, vessels) for each in barriers_against(name, trade)]
        for name in present | set(rows["guarded"])
    }
    loss, kill, sink = (np.zeros((items, DRAWS)) for _ in range(3))
    probability, boats, background, guards = {}, {}, {}, {}
    of_weather = np.zeros(vessels)
    # End states do not touch one another until they are added up, in their own order: two at a time.
    with ThreadPoolExecutor(WORKERS) as pool:
        brought = pool.map(lambda name: _brought_about(name, chance, consequences, ready, draws), states)
        for name, each in zip(states, brought, strict=True):
            parts = len(each.place)
            share, costs = (sums_by(values[:parts], each.place, items) for values in (each.share, each.costs))
            loss += costs
            if trade.end_states[name].can_kill:
                kill += share
            if name in SINKING:
                sink += share
            probability[name], boats[name] = share.mean(axis=1), each.boats
            if name in consequences.background:
                background[name] = each.share[parts:].mean(axis=1)
                of_weather += each.costs[parts:].mean(axis=1)
            # An injury costs no money: its barriers are worth what they save the boat.
            for barrier, falls in zip(barriers_against(name, trade), each.falls, strict=False):
                guards[barrier.barrier, name] = falls
    return Outcomes(loss, kill, sink, probability, boats, background, of_weather, guards)


def _brought_about(
    end_state: str,
    chance: FloatArray,
    consequences: Consequences,
    ready: Mapping[str, list[FloatArray]],
    draws: Draws,
) -> _Brought:
    following, vessels = consequences.following, consequences.vessels
    rows = np.flatnonzero(following.rows["end_state"] == end_state)
    place = following.rows["item"].to_numpy()[rows]
    boat, follows = consequences.vessel[place], following.chance[rows]
    begins, factor = chance[place], following.loss_factor[rows]
    guarded = following.rows["guarded"].iloc[rows]
    weather = consequences.background.get(end_state)
    if weather is not None:
        boat, follows = np.concatenate([boat, np.arange(vessels)]), np.concatenate([follows, weather])
        begins = np.concatenate([begins, np.ones((vessels, DRAWS))])
        factor = np.concatenate([factor, np.ones(weather.shape[:2])])
        guarded = pd.concat([guarded, pd.Series(end_state, index=range(vessels))])
    scenario = scenario_of_draws(follows.shape[1], draws)
    mixed = _mixed(follows, guarded, boat, (ready, scenario))
    each = np.minimum(uncorrelated(begins, mixed.chance), 1 - 1e-12)
    share, boats = shares(each, boat, vessels)
    losses = consequences.losses[consequences.losses["end_state"] == end_state]
    prices = drawn_losses(draws, end_state, losses)[boat]
    grown = prices * factor[:, scenario]
    if factor.max(initial=1.0) > 1.0:
        # Damage that nobody sees grows, but never beyond what there is to lose.
        grown = np.minimum(grown, most_lost(draws, end_state, losses)[boat])
    costs = uncorrelated(share, grown)
    per_chance = np.divide(costs, mixed.chance, out=np.zeros_like(costs), where=mixed.chance > UNDERFLOW)
    return _Brought(
        place, share, boats, costs, tuple(sums_by(per_chance * falls, boat, vessels) for falls in mixed.falls)
    )


def _mixed(
    follows: FloatArray,
    guarded: pd.Series,
    boat: npt.NDArray[np.intp],
    tools: tuple[Mapping[str, list[FloatArray]], npt.NDArray[np.intp]],
) -> Mixed:
    """What follows over the states of the barriers that guard each row (the end state whose barriers they are)."""
    ready, scenario = tools
    found = [
        (some, mix_barriers(follows[some], [each[boat[some]] for each in ready[name]], scenario))
        for name, some in places_by(guarded).items()
    ]
    if len(found) == 1:
        return found[0][1]
    # Rows with different barriers: there is no telling then which barrier averts what.
    chance = np.empty((len(follows), DRAWS))
    for some, mixed in found:
        chance[some] = mixed.chance
    return Mixed(chance, ())


def scenario_of_draws(scenarios: int, draws: Draws) -> npt.NDArray[np.intp]:
    """(DRAWS,) the scenario of the physics that each draw has; each scenario is used equally often."""
    return draws.strata("scenario") % scenarios


def barrier_ready(needs: tuple[str, ...], working: Mapping[str, FloatArray], vessels: int) -> FloatArray:
    """(vessels, DRAWS) chance that everything a barrier needs works; 0 where a class of it is not fitted at all."""
    ready = np.ones((vessels, DRAWS))
    for name in needs:
        ready *= working.get(name, 0.0)
    return ready


def mix_barriers(chance: FloatArray, ready: list[FloatArray], scenario: npt.NDArray[np.intp]) -> Mixed:
    """What follows over the states of up to two barriers, which work independently of each other.

    Parameters
    ----------
    chance : (rows, S, BARRIER_STATES)
        As in Follow. A battery that feeds both barriers is already in it.
    ready : one (rows, DRAWS) a barrier
    """
    none, first, second, both = (chance[:, :, state][:, scenario] for state in range(chance.shape[2]))
    if not ready:
        return Mixed(none, ())
    one = ready[0]
    if len(ready) == 1:
        return Mixed(none + one * (first - none), (none - first,))
    two, joint = ready[1], both - first - second + none
    mixed = none + one * (first - none) + two * (second - none) + one * two * joint
    return Mixed(np.maximum(mixed, 0.0), (none - first - two * joint, none - second - one * joint))


def uncorrelated(*factors: FloatArray) -> FloatArray:
    """Product (n, m) of independent factors drawn together, scaled so that its mean is the product of their means.

    A few hundred draws of independent things correlate by chance; the bands may bear that, the means need not.
    """
    product, wanted = factors[0].copy(), factors[0].mean(axis=1)
    for factor in factors[1:]:
        product *= factor
        wanted = wanted * factor.mean(axis=1)
    found = product.mean(axis=1)
    product *= np.divide(wanted, found, out=np.ones_like(found), where=found > UNDERFLOW)[:, None]
    return product


def shares(each: FloatArray, boat: npt.NDArray[np.intp], vessels: int) -> tuple[FloatArray, FloatArray]:
    """Each part's share of 1 - product(1 - s) on its boat, and that total (vessels, DRAWS).

    The share is the total times log(1 - s) over the sum of the boat's log(1 - s): parts add up to the boat.
    """
    logs = np.log1p(-each)
    sums = sums_by(logs, boat, vessels)
    total = -np.expm1(sums)
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.where(sums < 0, total / sums, 0.0)
    return logs * scale[boat], total


def sums_by(values: FloatArray, group: npt.NDArray[np.intp], groups: int) -> FloatArray:
    """(groups, m) sums of the rows of ``values`` (n, m) by ``group`` (n,); groups without rows get 0."""
    order = np.argsort(group, kind="stable")
    present, first = np.unique(group[order], return_index=True)
    sums = np.zeros((groups, values.shape[1]))
    sums[present] = np.add.reduceat(values[order], first, axis=0)
    return sums
