"""The best plan near the answer at a price: dynamic programming over departures, pruned by what they lose.

After the core algorithms for knapsacks (Pisinger 1995, a minimal algorithm for the multiple-choice knapsack problem),
widened to vessels that may be in or out of the water. Money is whole cents, so no plan is lost to rounding.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.plan.solving.candidates import Places
from riskmodel.plan.solving.problem import IntArray

# Marks a plan that did not depart, and the plan that is the answer itself.
STAYED, ROOT = -1, -1
# States looked at before only the most promising FEW are followed: some five seconds (measured).
MOST_WORK, FEW = 200_000_000, 1_000
# And moves written into the trail before that, eight bytes each.
MOST_NODES = 20_000_000
# Bundles gone through at most: a few seconds even with FEW states (measured).
MOST_BUNDLES = 5_000
# Stands for a rate without end, and stays a float when multiplied by any cents.
MOST_RATE = 1e200


class Layer(NamedTuple):
    """Departures of which a plan takes at most one: their numbers, losses, and further cents."""

    move: Places
    loss: FloatArray
    extra: IntArray


class Bundle(NamedTuple):
    """What is decided together: ``layers`` as things stand, and, where a vessel may change its mode, that
    ``change`` and the layers ``changed`` then."""

    layers: Sequence[Layer]
    change: Layer | None
    changed: Sequence[Layer]


class States(NamedTuple):
    """Plans so far: cents left (below 0: too dear), loss, the node of the trail that led there, the move since."""

    left: IntArray
    loss: FloatArray
    node: IntArray
    move: Places

    def at(self, which: Places) -> States:
        """Some of the states."""
        return States(self.left[which], self.loss[which], self.node[which], self.move[which])


class Rates(NamedTuple):
    """The least loss a cent of all departures to come, for a cent ``more`` spent and for a cent ``less``."""

    more: float
    less: float


@dataclass
class Search:
    """A search under way.

    The best plan loses ``total``; what betters it by less than ``tolerance`` is not followed. At most ``most``
    states are kept; no plan among those let go loses less than ``floor``. ``node`` and ``move`` lead to the best plan
    where ``found``.
    """

    price: float
    total: float
    tolerance: float
    most: int
    floor: float = np.inf
    found: bool = False
    node: int = ROOT
    move: int = STAYED
    nodes: int = 0
    work: int = 0
    parents: list[npt.NDArray[np.int32]] = field(default_factory=list)
    moves: list[npt.NDArray[np.int32]] = field(default_factory=list)

    def path(self) -> list[int]:
        """The moves of the best plan found."""
        parents = np.concatenate([np.zeros(0, dtype=np.int32), *self.parents])
        moves = np.concatenate([np.zeros(0, dtype=np.int32), *self.moves])
        path, node = [] if self.move == STAYED else [self.move], self.node
        while node != ROOT:
            path.append(int(moves[node]))
            node = int(parents[node])
        return path


def search_bundles(search: Search, bundles: Sequence[Bundle], left: int) -> None:
    """Follow every plan that departs in ``bundles`` from the answer, which leaves ``left`` cents (below 0: too dear).

    The total loss of a plan within the budget is that of its moves and price × cents left.
    """
    order = nearest_first(bundles)
    order, beyond = order[:MOST_BUNDLES], order[MOST_BUNDLES:]
    search.floor = min([search.floor, *(_least(bundle) for bundle in beyond)])
    rates = _rates_from(order)
    start = States(np.array([left]), np.zeros(1), np.array([ROOT]), np.array([STAYED]))
    states = _followed(search, start, rates[0])
    for number, bundle in enumerate(order):
        if not len(states.left):
            break
        both = _through(search, states, bundle.layers, rates[number])
        if bundle.change is not None:
            moved = _followed(search, _departed(search, states, bundle.change), rates[number])
            both = _joined(both, _through(search, moved, bundle.changed, rates[number]))
        states = _followed(search, both, rates[number + 1])


def nearest_first(bundles: Sequence[Bundle]) -> list[Bundle]:
    """The bundles in order of the least loss a cent: those whose answer changes with the least change of price."""
    return sorted(bundles, key=lambda bundle: min(_rates(_layers(bundle))))


def _through(search: Search, states: States, layers: Sequence[Layer], rates: Rates) -> States:
    for layer in layers:
        if not len(states.left):
            break
        states = _followed(search, _joined(states, _departed(search, states, layer)), rates)
    return states


def _departed(search: Search, states: States, layer: Layer) -> States:
    """Every state after every move of the layer that does not lose too much by itself."""
    useful = np.flatnonzero(layer.loss < search.total - search.tolerance)
    left = states.left - layer.extra[useful, None]
    loss = states.loss + layer.loss[useful, None]
    node = np.broadcast_to(states.node, left.shape)
    move = np.broadcast_to(layer.move[useful, None], left.shape)
    return States(left.ravel(), loss.ravel(), node.ravel(), move.ravel())


def _joined(first: States, second: States) -> States:
    return States(*(np.concatenate(pair) for pair in zip(first, second, strict=True)))


def _followed(search: Search, states: States, rates: Rates) -> States:
    """The states that may lead to a better plan, once the best of them is put into ``search``."""
    total = states.loss + search.price * states.left
    _note_best(search, states, total)
    # A cent to come cannot lose less than the rate, so this is the least that a plan from here can lose.
    more, less = min(rates.more, search.price), min(rates.less, MOST_RATE)
    least = states.loss + np.where(states.left >= 0, more, -less) * states.left
    kept = np.flatnonzero(least < search.total - search.tolerance)
    kept = _not_dominated(states.left, total, kept)
    search.work += len(states.left)
    within = search.work < MOST_WORK and search.nodes < MOST_NODES
    most = search.most if within else min(search.most, FEW)
    if len(kept) > most:
        order = np.argpartition(least[kept], most)
        search.floor = min(search.floor, float(least[kept[order[most]]]))
        kept = kept[np.sort(order[:most])]
    return _recorded(search, states.at(kept))


def _not_dominated(left: IntArray, total: FloatArray, kept: Places) -> Places:
    """Cheapest first, those that avert more than all cheaper ones (total is a constant less what is averted)."""
    kept = kept[np.argsort(-left[kept], kind="stable")]
    before = np.minimum.accumulate(np.append(np.inf, total[kept]))[:-1]
    return kept[total[kept] < before]


def _note_best(search: Search, states: States, total: FloatArray) -> None:
    fits = np.flatnonzero(states.left >= 0)
    if not len(fits):
        return
    best = int(fits[np.argmin(total[fits])])
    if total[best] < search.total:
        search.total, search.found = float(total[best]), True
        search.node, search.move = int(states.node[best]), int(states.move[best])


def _recorded(search: Search, states: States) -> States:
    """The states with their moves written into the trail."""
    moved = np.flatnonzero(states.move != STAYED)
    search.parents.append(states.node[moved].astype(np.int32))
    search.moves.append(states.move[moved].astype(np.int32))
    node = states.node.copy()
    node[moved] = search.nodes + np.arange(len(moved))
    search.nodes += len(moved)
    return States(states.left, states.loss, node, np.full(len(node), STAYED))


def _layers(bundle: Bundle) -> Iterable[Layer]:
    return [*bundle.layers, *bundle.changed, *([] if bundle.change is None else [bundle.change])]


def _least(bundle: Bundle) -> float:
    """What every plan that departs in the bundle loses at least."""
    usual = [float(layer.loss.min()) for layer in bundle.layers]
    return min([*usual, *([] if bundle.change is None else [float(bundle.change.loss.min())])])


def _rates(layers: Iterable[Layer]) -> Rates:
    more = less = np.inf
    for layer in layers:
        dearer, cheaper = layer.extra > 0, layer.extra < 0
        more = min(more, float(np.min(layer.loss[dearer] / layer.extra[dearer], initial=np.inf)))
        less = min(less, float(np.min(layer.loss[cheaper] / -layer.extra[cheaper], initial=np.inf)))
    return Rates(more, less)


def _rates_from(bundles: Sequence[Bundle]) -> list[Rates]:
    """The rates of each bundle and all after it, and of nothing more."""
    rates = [Rates(np.inf, np.inf)]
    for bundle in reversed(bundles):
        here = _rates(_layers(bundle))
        rates.append(Rates(min(here.more, rates[-1].more), min(here.less, rates[-1].less)))
    return rates[::-1]
