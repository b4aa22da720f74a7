"""An assessed fleet as an insurer's book: what each boat may lose in the time ahead, draw by draw."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import pandas as pd

from riskmodel.arrays import FloatArray
from riskmodel.consequence import drawn_losses
from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.doubt import Doubt
from riskmodel.exposure.exclusive import competing
from riskmodel.exposure.on_risk import exclusive_on_risk
from riskmodel.exposure.otherwise import chances_otherwise
from riskmodel.exposure.severities import SIZES, Severities, severities
from riskmodel.risk import Assessment
from riskmodel.risk.draws import Draws
from riskmodel.risk.outcomes import UNDERFLOW, Consequences, Outcomes, outcomes, sums_by, uncorrelated
from riskmodel.trade import Trade

# After one of these the boat is not there to be lost again: one of them a year. What stops short of them may come
# besides, once each (judgement).
TOTAL_LOSSES = ("sinking_unattended", "sinking_under_way", "fire_explosion")
# A column of vessels that stand for kinds: how many equal boats there are of each. Without it a row is one boat.
BOATS = "boats"


class Worked(Protocol):
    """What follows on the boats of a fleet, and with which draws: an assessment, or some of one."""

    @property
    def consequences(self) -> Consequences:
        """What may follow."""
        ...

    @property
    def trade(self) -> Trade:
        """The knowledge base."""
        ...

    @property
    def seed(self) -> int:
        """Of the draws."""
        ...


@dataclass(frozen=True, eq=False)
class Book:
    """Boats that are independent given a draw of everything uncertain; DRAWS draws of equal weight, those of `rank`.

    ``vessels``: the fleet's (n rows), each one boat or ``BOATS`` equal ones. ``states`` (K): end states that cost
    money. ``chance`` (n, K, DRAWS): that one boat of the row has such a loss by the horizon, total losses excluding
    each other. ``severity``: what it then comes to. ``groups``: places in ``states`` of end states that exclude each
    other; one loss of each group.
    """

    vessels: pd.DataFrame
    states: tuple[str, ...]
    groups: tuple[tuple[int, ...], ...]
    chance: FloatArray
    severity: Severities

    @property
    def rows(self) -> int:
        """How many rows, of one boat or of equal ones."""
        return len(self.vessels)

    @property
    def count(self) -> FloatArray:
        """(n,) how many equal boats each row stands for."""
        return boat_counts(self.vessels)

    @property
    def boats(self) -> int:
        """How many boats."""
        return int(self.count.sum())

    @property
    def value(self) -> FloatArray:
        """(n,) value of each row's boats together [currency]."""
        return self.severity.value * self.count

    def chances(self, cover: Cover, boats: slice = slice(None)) -> FloatArray:
        """(n, K, DRAWS) chances of losses in the days that ``boats`` are on risk."""
        chance, share = self.chance[boats], cover.on_risk[boats]
        if (share == 1.0).all():
            return chance
        found = np.empty_like(chance)
        for group in map(list, self.groups):
            fewer = exclusive_on_risk(chance[:, group], share[:, group])
            # Off risk a boat that burnt cannot sink either: no end state is likelier on fewer days than on all.
            found[:, group] = np.minimum(fewer, chance[:, group])
        return found

    def sized(self, cover: Cover, boat: int) -> FloatArray:
        """(DRAWS, K, SIZES) chances of one boat's losses on risk by end state and size of bill."""
        return self.severity.sized(self.chances(cover, slice(boat, boat + 1))[0], boat)

    def mean_losses(self, cover: Cover) -> FloatArray:
        """(n, K, DRAWS) expected loss after terms of each row's boats by end state, draw by draw [currency]."""
        means = np.broadcast_to(self.severity.payouts(cover).mean, (*self.chance.shape[:2], SIZES))
        found: FloatArray = self.chances(cover) * self.severity.drawn(means)
        found *= self.count[:, None, None]
        return found


def boat_counts(vessels: pd.DataFrame) -> FloatArray:
    """(n,) how many equal boats each row of a vessels table stands for: 1, or what ``BOATS`` says."""
    if BOATS not in vessels.columns:
        return np.ones(len(vessels))
    return vessels[BOATS].to_numpy(dtype=float)


def book_of(result: Assessment, doubt: Doubt | None = None) -> Book:
    """The book of an assessed fleet, over its horizon; ``doubt`` as in ``book_with``.

    Boats without a list of parts have their typical outfit; a boat with neither is refused, for it would lose nothing.

    Raises
    ------
    TableError
        For boats without any part, listed or typical.
    ParameterError
        Where every boat is sold.
    """
    _refuse_bare(result)
    return book_with(
        result, result.boats, state_costs(result, result.parts.drawn, result.barriers.working), doubt
    )


def book_with(
    result: Assessment,
    boats: Mapping[str, FloatArray],
    costs: Mapping[str, FloatArray],
    doubt: Doubt | None = None,
) -> Book:
    """The same fleet with other chances ``boats`` (n, DRAWS) by end state, and what ``state_costs`` says of them.

    ``doubt``: what boats of assumed outfit or untold visits share, which moves no mean loss (riskmodel.exposure.doubt).
    """
    vessels = result.fleet.vessels
    value = vessels["value"].to_numpy(dtype=float)
    states = tuple(name for name in states_of_money(result.losses) if name in boats)
    kept = result.losses[result.losses["end_state"].isin(states)]
    prices = drawn_prices(Draws(result.seed), kept, states)
    chance = np.stack([boats[name] for name in states], axis=1)
    mean = np.empty_like(prices)
    for place, name in enumerate(states):
        alone = chance[:, place], prices[:, place]
        cost = costs[name] if name in costs else uncorrelated(*alone)
        some = alone[0] > UNDERFLOW
        mean[:, place] = np.where(some, cost / np.where(some, alone[0], 1.0), alone[1])
    if doubt is not None:
        chance = doubt.applied(states, chance, mean)
    return Book(
        vessels=vessels,
        states=states,
        groups=exclusive_groups(states),
        chance=competing(chance, exclusive_groups(states)[0]),
        severity=severities(mean, kept, value, result.trade),
    )


def states_of_money(losses: pd.DataFrame) -> tuple[str, ...]:
    """End states that cost money on any boat, in the trade's order."""
    money = losses.groupby("end_state", sort=False)["mean"].sum()
    return tuple(str(name) for name in money.index[money > 0])


def book_otherwise(result: Assessment, doubt: Doubt | None = None) -> Book:
    """The book of an assessment whose consequences are new: its chances are worked out from them; ``doubt`` as in
    ``book_with``."""
    costs = state_costs(result, result.parts.drawn, result.barriers.working)
    return book_with(result, chances_otherwise(result), costs, doubt)


def state_costs(
    result: Worked, chance: FloatArray, working: Mapping[str, FloatArray]
) -> dict[str, FloatArray]:
    """(n, DRAWS) expected loss of boats in end states whose losses grow with the time undetected, by end state.

    ``chance`` (items, DRAWS) of letting go and barriers ``working`` as in risk.outcomes. Elsewhere each loss has the
    end state's own mean, and needs no second look.
    """
    whole = result.consequences
    return {
        name: sums_by(told.loss, whole.vessel, whole.vessels) + told.background_loss[:, None]
        for name, told in grown_outcomes(result, chance, working).items()
    }


def grown_outcomes(
    result: Worked, chance: FloatArray, working: Mapping[str, FloatArray]
) -> dict[str, Outcomes]:
    """What comes of each end state whose losses grow with the time undetected, by itself."""
    whole = result.consequences
    following = whole.following
    grown = (following.loss_factor != 1.0).any(axis=1)
    found = {}
    for name in following.rows.loc[grown, "end_state"].unique():
        mine = (following.rows["end_state"] == name).to_numpy()
        only = replace(
            following,
            rows=following.rows[mine].reset_index(drop=True),
            chance=following.chance[mine],
            loss_factor=following.loss_factor[mine],
        )
        background = {key: each for key, each in whole.background.items() if key == name}
        alone = Consequences(only, background, whole.losses, whole.vessel, whole.vessels)
        found[str(name)] = outcomes(chance, alone, working, result.trade, Draws(result.seed))
    return found


def ranked_loss(result: Assessment) -> float:
    """What `rank` adds up to: every part's expected loss and what no part brings about [currency]."""
    vessels = result.fleet.vessels
    count = pd.Series(boat_counts(vessels), index=vessels["vessel_id"])
    parts = result.frame["expected_loss"] * result.frame["vessel_id"].map(count)
    return float(parts.sum() + (result.background["loss"] * count).sum())


def _refuse_bare(result: Assessment) -> None:
    vessels = result.fleet.vessels
    if vessels.empty:
        raise ParameterError("a book must hold a boat: every one of this fleet is sold")
    bare = ~vessels["vessel_id"].isin(result.fleet.items["vessel_id"])
    if bare.any():
        rule = "must list parts, or be of a kind with a typical outfit: no part is no loss, which no boat has"
        rows = vessels[bare]
        raise TableError(
            [
                Problem("vessels", int(row), "vessel_id", rule, repr(name))
                for row, name in zip(rows["source_row"], rows["vessel_id"], strict=True)
            ]
        )


def drawn_prices(draws: Draws, losses: pd.DataFrame, states: tuple[str, ...]) -> FloatArray:
    """(n, K, DRAWS) mean loss of each end state in the draws that `rank` has; ``losses``: vessel_losses of them."""
    rows = [losses[losses["end_state"] == name] for name in states]
    return np.stack([drawn_losses(draws, *each) for each in zip(states, rows, strict=True)], axis=1)


def exclusive_groups(states: tuple[str, ...]) -> tuple[tuple[int, ...], ...]:
    """Places of end states that exclude each other on a boat: total losses first, each other one by itself."""
    total = tuple(place for place, name in enumerate(states) if name in TOTAL_LOSSES)
    return (total, *((place,) for place in range(len(states)) if place not in total))
