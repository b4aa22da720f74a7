"""The stages of a solution: a bound at a price, a good plan soon, then all that could still be better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from riskmodel.plan.solving.bundles import bundles_of
from riskmodel.plan.solving.candidates import Candidates
from riskmodel.plan.solving.exact import Bundle, Search, nearest_first, search_bundles
from riskmodel.plan.solving.lagrange import Response, best_price
from riskmodel.plan.solving.moves import (
    Moves,
    Vessels,
    after,
    item_moves,
    joined,
    near_moves,
    none_made,
    vessel_modes,
    vessel_moves,
)
from riskmodel.plan.solving.problem import IntArray

# A plan is called optimal where none can avert more by over this share: a cent in a hundred million of money.
TOLERANCE = 1e-10
# And a share of the bound at the price, which is a sum of floats (a thousand units in the last place).
ROUNDING = 2e-13
# The first search is through the moves nearest the price, the second through the nearest bundles, each with few
# states, so that the last starts from a good plan; the second only where there is much to go through (measured).
NEAR_MOVES, NEAR_BUNDLES, FEW_STATES, MUCH = 200, 300, 2_000, 300
# States that the last search keeps at most: 30 bytes each.
MOST_STATES = 300_000


@dataclass(frozen=True)
class Relaxed:
    """A problem at the price of its tightest bound: ``left`` cents to spend, the ``answer`` and its ``bound``."""

    given: Candidates
    left: int
    answer: Response
    bound: float
    vessels: Vessels


@dataclass(frozen=True)
class Known:
    """The best plan known: ``chosen`` ids, and what it ``loses`` against the bound; none loses less than ``least``."""

    chosen: IntArray
    loses: float
    least: float


def relax(given: Candidates, left: int, near: float = 0.0) -> tuple[Relaxed, Known]:
    """The tightest bound, sought from the price ``near`` where above 0, and the plan of a response that fits."""
    answer, fits = best_price(given, left, near)
    relaxed = Relaxed(given, left, answer, answer.bound(left), vessel_modes(given, answer))
    chosen = after(given, fits, vessel_modes(given, fits), none_made())
    # At price 0 everything that averts anything is paid for: there is nothing to lose.
    loses = max(relaxed.bound - fits.benefit, 0.0) if answer.price > 0 else 0.0
    return relaxed, Known(chosen, loses, 0.0)


def soon(relaxed: Relaxed, known: Known) -> Known:
    """A good plan, by the moves nearest the price alone."""
    moves = item_moves(relaxed.given, relaxed.answer, relaxed.vessels, known.loses)
    moves = near_moves(moves, relaxed.vessels, NEAR_MOVES)
    found = _searched(relaxed, known, moves, bundles_of(moves, relaxed.vessels), FEW_STATES)
    return Known(found.chosen, found.loses, known.least)


def better(relaxed: Relaxed, known: Known) -> Known:
    """A better plan where there is one, by the bundles nearest the price, vessels that change their mode among them."""
    moves, bundles = _open(relaxed, known)
    found = _searched(relaxed, known, moves, nearest_first(bundles)[:NEAR_BUNDLES], FEW_STATES)
    return Known(found.chosen, found.loses, known.least)


def best(relaxed: Relaxed, known: Known) -> Known:
    """The best plan, and what no plan loses less than, within the limits of the search."""
    moves, bundles = _open(relaxed, known)
    if len(moves.item) > MUCH:
        known = better(relaxed, known)
        moves, bundles = _open(relaxed, known)
    return _searched(relaxed, known, moves, bundles, MOST_STATES)


def tolerance_of(relaxed: Relaxed, known: Known) -> float:
    """The benefit by which a plan need not be bettered."""
    return TOLERANCE * max(relaxed.bound - known.loses, 0.0) + ROUNDING * relaxed.bound


def _open(relaxed: Relaxed, known: Known) -> tuple[Moves, list[Bundle]]:
    """What a better plan than the one known may do otherwise than the answer (reduced-cost fixing of the rest)."""
    items = item_moves(relaxed.given, relaxed.answer, relaxed.vessels, known.loses)
    moves = joined(items, vessel_moves(relaxed.vessels, known.loses))
    return moves, bundles_of(moves, relaxed.vessels)


def _searched(relaxed: Relaxed, known: Known, moves: Moves, bundles: Sequence[Bundle], states: int) -> Known:
    answer = relaxed.answer
    tolerance = tolerance_of(relaxed, known)
    search = Search(answer.price, known.loses, tolerance, states)
    search_bundles(search, bundles, relaxed.left - answer.cost)
    least = max(min(search.total - tolerance, search.floor), known.least)
    if not search.found:
        return Known(known.chosen, known.loses, least)
    made = moves.at(np.array(search.path(), dtype=np.intp))
    return Known(after(relaxed.given, answer, relaxed.vessels, made), search.total, least)
