"""The budget relaxed at a price: what each vessel would do if money cost so much, and the price of the best bound."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.plan.solving.candidates import Candidates, Places, Side, one_vessel_in
from riskmodel.plan.solving.problem import BoolArray

# Two ends of the price whose bounds agree so closely (as a share) cannot be told apart in floats.
CLOSE = 1e-12
# A bracket is at least halved every third step, and a float has 52 bits: it cannot go on longer.
MOST_STEPS = 160
# From this many candidates on, a first price from one vessel in SAMPLE saves most steps over all (measured).
LARGE, SAMPLE = 60_000, 16


@dataclass(frozen=True)
class Response:
    """Every vessel's best answer to a ``price`` [benefit per cent].

    ``score`` and ``pick`` are (2, items): the best of benefit − price × cost and its place among the candidates,
    with the vessel afloat and out of the water. ``gain`` (vessels,) is what hauling out adds, haul-out paid.
    ``cost`` [cents] and ``benefit`` are those of the whole answer, ``value`` is benefit − price × cost.
    """

    price: float
    score: FloatArray
    pick: Places
    gain: FloatArray
    hauled: BoolArray
    cost: int
    benefit: float
    value: float

    def bound(self, budget: int) -> float:
        """No plan of at most ``budget`` cents averts more (weak duality)."""
        return self.value + self.price * budget


def respond(given: Candidates, price: float) -> Response:
    """The answer of all vessels to ``price``, in closed form: the cheapest of equally good options."""
    items = len(given.vessel)
    score, pick = np.zeros((2, items)), np.full((2, items), given.nothing)
    _improve(given.afloat, price, score[0], pick[0])
    score[1], pick[1] = score[0], pick[0]
    _improve(given.hauled, price, score[1], pick[1])
    rise = score[1] - score[0]
    gain = np.bincount(given.vessel, rise, minlength=len(given.haul_out_cost)) - price * given.haul_out_cost
    hauled = gain > 0
    taken = np.where(hauled[given.vessel], pick[1], pick[0])
    cost = int(given.cost[taken].sum() + given.haul_out_cost[hauled].sum())
    benefit = float(given.benefit[taken].sum())
    value = float(score[0].sum() + gain[hauled].sum())
    return Response(price, score, pick, gain, hauled, cost, benefit, value)


def _improve(side: Side, price: float, score: FloatArray, pick: Places) -> None:
    """Put the best option of each item into ``score`` and ``pick`` where it beats what is there."""
    if not len(side.place):
        return
    each = side.benefit - price * side.cost
    best = np.maximum.reduceat(each, side.starts)
    winners = np.flatnonzero(each == best[side.segment])
    segment = side.segment[winners]
    first = np.ones(len(winners), dtype=bool)
    first[1:] = segment[1:] != segment[:-1]
    better = best > score[side.items]
    items = side.items[better]
    score[items] = best[better]
    pick[items] = side.place[winners[first]][better]


def best_price(given: Candidates, budget: int, near: float = 0.0) -> tuple[Response, Response]:
    """The response of the tightest bound, and one close to it that fits the ``budget`` [cents].

    ``near`` is a price to start from, where one is known.
    """
    free = respond(given, 0.0)
    if free.cost <= budget:
        return free, free
    return _narrow(given, budget, *_bracket(given, budget, free, near))


def _narrow(given: Candidates, budget: int, low: Response, high: Response) -> tuple[Response, Response]:
    """The best response between two prices: the ``low`` one costs more than the budget, the ``high`` one fits."""
    best = min(low, high, key=lambda each: each.bound(budget))
    for step in range(MOST_STEPS):
        meet = (low.benefit - high.benefit) / (low.cost - high.cost)
        least = low.benefit + meet * (budget - low.cost)
        price = _next_price(low, high, budget, step, meet)
        if not low.price < price < high.price or best.bound(budget) - least <= CLOSE * abs(least):
            break
        middle = respond(given, price)
        best = min(best, middle, key=lambda each: each.bound(budget))
        low, high = (middle, high) if middle.cost > budget else (low, middle)
    return best, high


def _next_price(low: Response, high: Response, budget: int, step: int, meet: float) -> float:
    """The next price to try. The bound is convex in the price, and its slope is budget − cost.

    In turn: where the two tangents meet, which ends the search at a corner; where the slope would be 0 if it were
    straight; the middle.
    """
    if step % 3 == 1:
        return low.price + (high.price - low.price) * (low.cost - budget) / (low.cost - high.cost)
    return 0.5 * (low.price + high.price) if step % 3 == 2 else meet


def _bracket(given: Candidates, budget: int, free: Response, near: float) -> tuple[Response, Response]:
    """A price too low for the budget and one that fits it."""
    most = _price_of_nothing(given)
    low, high = free, None
    price, factor = near or _first_price(given, budget), 1.01
    while 0.0 < price < most:
        tried = respond(given, price)
        if tried.cost <= budget:
            high = tried
        else:
            low = tried
        if high is not None and low is not free:
            return low, high
        price, factor = (price / factor if tried is high else price * factor), factor**2
    return low, high or respond(given, most)


def _price_of_nothing(given: Candidates) -> float:
    """A price at which nothing that costs money is taken: twice the best ratio of benefit to cost, with haul-outs
    set against all that might be done on the vessel."""
    costly, hauling = given.cost > 0, given.haul_out_cost > 0
    ratio = np.max(given.benefit[costly] / given.cost[costly], initial=0.0)
    owner = given.vessel[given.item]
    worth = np.bincount(owner, given.benefit[: given.nothing], minlength=len(hauling))
    by_vessel = np.max(worth[hauling] / given.haul_out_cost[hauling], initial=0.0)
    return 2.0 * float(max(ratio, by_vessel)) + float(np.finfo(float).tiny)


def _first_price(given: Candidates, budget: int) -> float:
    """A price near the best one, from some of the vessels with their share of the budget; 0 for no idea."""
    if given.nothing < LARGE:
        return 0.0
    some = one_vessel_in(given, SAMPLE)
    share = int(budget * (some.nothing / given.nothing))
    free = respond(some, 0.0)
    if free.cost <= share:
        return 0.0
    return _narrow(some, share, free, respond(some, _price_of_nothing(some)))[0].price
