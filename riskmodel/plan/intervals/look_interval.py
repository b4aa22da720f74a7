"""How often to look at a part: what looks, renewals and failures cost together, by the time between looks.

A part is new, is looked at every ``interval``, and is renewed when a look finds it wanting, when it lets go, or at
the age at which it is renewed anyway: a cycle, after which all begins again. Over the years a node of the life costs

    C(interval) = looks + E[renewals, failures and damage in a cycle] / E[length of a cycle],

averaged over the posterior as the sum of w_g C_g, as ages are (best_age). Parts that show their failure have a warning
window that looks find (delay time: Christer and Waller 1984; misses repeat, one detection a part); parts that fail
unseen are found dead by a test, and their boat goes without them until then.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.errors import ParameterError
from riskmodel.life.looks import Windows
from riskmodel.plan.intervals.wearing import Wear

# Times between looks to choose from (years): twelve times a year to yearly, every second and every third year, never.
CHOICES = (*(1.0 / number for number in (12, 8, 6, 4, 3, 2, 1)), 2.0, 3.0, np.inf)
# Cells of age that a cycle and its windows are cut into: chances are right to one in a hundred of themselves.
CELLS = 1000
# A time to the next look that is a whole number of intervals but for the last bit.
EXACT = 1e-9
# No look before and none after: what stands for a window where failure is not seen coming.
UNSEEN = Windows(np.zeros(1), np.ones(1))


@dataclass(frozen=True)
class Cycle:
    """One part's life, cut into cells of age, until it is ``renewed`` anyway (years), and its warning ``windows``
    (years): parts that would let go after that age may be found before it.

    ``age`` (k,): the middles of the cells; ``share`` (m, k): chance to fail in each, by node of the life; ``beyond``
    (m,): after them all.
    """

    renewed: float
    windows: Windows
    age: FloatArray
    share: FloatArray
    beyond: FloatArray


@dataclass(frozen=True)
class Outlay:
    """Money: renewal in ``planned`` time, renewal of what was found (``at_once``), a ``failure`` that shows itself with
    its renewal, and a year of a part dead unseen (``while_dead``)."""

    planned: float
    at_once: float
    failure: float
    while_dead: float = 0.0


@dataclass(frozen=True)
class Ending:
    """How a cycle ends, node by node (m,): chance that the part lets go, that a look ends it, its mean length and the
    part of that in which it is dead unseen [years]."""

    lets_go: FloatArray
    found: FloatArray
    length: FloatArray
    dead: FloatArray

    def cost_rate(self, outlay: Outlay) -> FloatArray:
        """(m,) money a year, the looks themselves left aside."""
        in_time = outlay.planned * (1.0 - self.lets_go - self.found)
        spent = outlay.failure * self.lets_go + outlay.at_once * self.found + in_time
        rate: FloatArray = (spent + outlay.while_dead * self.dead) / self.length
        return rate


def cycle_of(wear: Wear, renewed: float, windows: Windows = UNSEEN) -> Cycle:
    """The cycle of a part renewed at an age [years]; without windows one that fails unseen.

    Raises ParameterError for an age not above 0 or infinite.
    """
    if not 0 < renewed < np.inf:
        raise ParameterError(f"the age of renewal must be above 0 and finite, got {renewed:g}")
    longest = renewed + float(windows.length.max())
    # The age of renewal is an edge between two cells.
    before = max(round(CELLS * renewed / longest), CELLS // 2)
    edges = np.linspace(0.0, renewed, before + 1)
    if longest > renewed:
        edges = np.concatenate([edges, np.linspace(renewed, longest, CELLS // 2 + 1)[1:]])
    whole = wear.survival(edges)
    return Cycle(renewed, windows, 0.5 * (edges[1:] + edges[:-1]), whole[:, :-1] - whole[:, 1:], whole[:, -1])


def seen_ending(cycle: Cycle, miss: FloatArray, interval: float) -> Ending:
    """How cycles end where a warning window stands open before a part lets go.

    Parameters
    ----------
    miss : (d,)
        Chance that a look misses an open window, at equally likely levels; a part keeps its own at all its looks.
    interval : float
        Years between looks, the first one interval after renewal; infinite for none.

    Raises
    ------
    ParameterError
        For an interval not above 0.
    """
    _check(interval)
    until = np.minimum(cycle.age, cycle.renewed)
    opens = np.maximum(cycle.age[:, None] - cycle.windows.length, 0.0)
    first = np.maximum(np.ceil(opens / interval - EXACT), 1.0)
    last = np.ceil(until / interval - EXACT) - 1.0
    looks = np.maximum(last[:, None] - first + 1.0, 0.0).astype(int)
    missed, waited = _tables(miss, int(looks.max(initial=0)))
    unseen = missed[looks]
    finite = interval if np.isfinite(interval) else 0.0
    lasts = finite * (first * (1.0 - unseen) + waited[looks]) + until[:, None] * unseen
    kept = unseen @ cycle.windows.weight
    early = np.where(cycle.age < cycle.renewed, kept, 0.0)
    lets_go, whole, length = (cycle.share @ np.stack([early, kept, lasts @ cycle.windows.weight]).T).T
    found = cycle.share.sum(axis=1) - whole
    return Ending(lets_go, found, length + cycle.beyond * cycle.renewed, np.zeros(len(length)))


def unseen_ending(cycle: Cycle, miss: FloatArray, interval: float) -> Ending:
    """How cycles end where only a test tells that a part is dead; ``miss`` and ``interval`` as in ``seen_ending``.

    Raises ParameterError for an interval not above 0.
    """
    _check(interval)
    age, end = cycle.age, cycle.renewed
    first = np.ceil(age / interval - EXACT) * interval if np.isfinite(interval) else np.full_like(age, np.inf)
    finite = interval if np.isfinite(interval) else 1.0
    # Tests that fall before the part is renewed anyway; each that misses leaves it dead until the next.
    tests = np.maximum(np.ceil((end - first) / finite - EXACT), 0.0).astype(int)
    missed, _ = _tables(miss, int(tests.max(initial=0)))
    upto = np.concatenate([[0.0], np.cumsum(missed[1:])])
    between = np.maximum(tests - 1, 0)
    tested = tests > 0
    rest = np.where(tested, end - np.where(tested, first, 0.0) - between * finite, 0.0)
    dead = np.minimum(first, end) - age + finite * upto[between] + rest * missed[tests]
    found, gone, length = (cycle.share @ np.stack([1.0 - missed[tests], dead, age + dead]).T).T
    return Ending(np.zeros(len(found)), found, length + cycle.beyond * end, gone)


def _tables(miss: FloatArray, most: int) -> tuple[FloatArray, FloatArray]:
    """(most + 1,) chance that so many looks all miss, and the mean count of looks missed before one of them finds."""
    number = np.arange(most + 1)
    missed = (miss[:, None] ** number).mean(axis=0)
    finds = missed[:-1] - missed[1:]
    return missed, np.concatenate([[0.0], np.cumsum(number[:most] * finds)])


def _check(interval: float) -> None:
    if not interval > 0:
        raise ParameterError(f"interval must be above 0, got {interval:g}")
