"""Chances of failing read from a table by day of age: the whole posterior at the price of one look-up an item.

The posterior is averaged at a few dozen ages only; between them a spline in log age carries the log of the
cumulative hazard that the average chance stands for, which is nearly straight where the chance itself bends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray, not_negative
from riskmodel.errors import ParameterError
from riskmodel.life.blocks import each_block
from riskmodel.life.life import Life
from riskmodel.life.spline import Spline, even_spline
from riskmodel.life.weibull import added_hazard
from riskmodel.units import DAYS_PER_YEAR

# Knots double until the spline through half of them gives the chance at the others to this much; the spline
# through all of them, which is the one kept, is then some ten times nearer.
TOLERANCE = 1e-6
FIRST_KNOTS = 33
# With so many the gaps still in doubt are narrow, and every day in them is averaged by itself: a life known to
# a per cent climbs from no chance to certainty in less than a gap.
MOST_KNOTS = 1025
# Log hazards at which a chance is 1e-8 and 1 - 1e-10: between them a gap may climb by no more than STEEPEST.
UNSETTLED = (-18.4, 3.1)
STEEPEST = 2.0
# A jump rings through a spline, a quarter as loud at every knot: the gaps this near to one in doubt are too.
RINGING = 4
# Log hazards are held to these ends, a chance of 4e-18 and a survival of 2e-29, so that no jump is a high one.
LOG_HAZARDS = (-40.0, 4.2)


@dataclass(frozen=True)
class ProbabilityTable:
    """Chance of failing within ``horizon`` (years) by whole days of age: ``by_day[day]``, 0 at the front."""

    horizon: float
    by_day: FloatArray

    @property
    def oldest(self) -> int:
        """Greatest age in the table, days."""
        return len(self.by_day) - 1


def probability_table(life: Life, horizon: float, oldest: float) -> ProbabilityTable:
    """Posterior mean chance of failing within ``horizon`` for every day of age up to ``oldest`` (years).

    ``life`` must be in years. Within 1e-6 of ``life.failure_probability`` on every day; age 0, where log age
    has no place, is averaged by itself.

    Raises
    ------
    ParameterError
        For a horizon or greatest age that is not a finite number of 0 or more.
    """
    span = float(not_negative("horizon", horizon))
    last = int(np.floor(float(not_negative("oldest", oldest)) * DAYS_PER_YEAR))
    by_day = np.empty(last + 1)
    by_day[0] = float(life.failure_probability(0.0, span))
    if last > 0:
        log_day = np.log(np.arange(1, last + 1, dtype=float))
        spline, doubtful = _spline(life, span, float(log_day[-1]))
        by_day[1:] = _chance(spline(log_day))
        gap = np.minimum((log_day / (2 * spline.step)).astype(np.intp), len(doubtful) - 1)
        alone = 1 + np.flatnonzero(doubtful[gap])
        by_day[alone] = life.failure_probability(alone / DAYS_PER_YEAR, span)
    return ProbabilityTable(span, by_day)


def probabilities_by_day(table: ProbabilityTable, days: npt.NDArray[np.integer]) -> FloatArray:
    """Chance for each item aged a whole number of ``days``.

    Raises
    ------
    ParameterError
        When an age is negative or beyond the table.
    """
    _refuse_outside("days", days, table.oldest)
    chances: FloatArray = table.by_day[days]
    return chances


def stack_tables(tables: list[ProbabilityTable]) -> npt.NDArray[np.float32]:
    """Tables of several classes with one horizon as an array (class, day), in single precision.

    Single precision costs 3e-8 of a chance, a thirtieth of what the tables promise, and halves the memory
    that a large fleet reads and writes.

    Raises
    ------
    ParameterError
        When the tables differ in horizon or greatest age, or there are none.
    """
    if len({(table.horizon, table.oldest) for table in tables}) != 1:
        raise ParameterError("tables must share one horizon and one greatest age")
    return np.array([table.by_day for table in tables], dtype=np.float32)


def probabilities_by_class_and_day(
    stacked: npt.NDArray[np.float32], classes: npt.NDArray[np.integer], days: npt.NDArray[np.integer]
) -> npt.NDArray[np.float32]:
    """Chance for each item from its class's place in ``stacked`` and its age in whole days.

    ``classes`` and ``days`` (n,) of any whole-number type: the narrower, the less there is to read.

    Raises
    ------
    ParameterError
        When the two differ in length, or a class or an age lies outside the tables.
    """
    if len(classes) != len(days):
        raise ParameterError(f"classes and days must be equally long, got {len(classes)} and {len(days)}")
    known, ages = stacked.shape
    flat = np.ascontiguousarray(stacked).ravel()
    chances = np.empty(len(days), dtype=np.float32)

    def look_up(part: slice) -> None:
        _refuse_outside("classes", classes[part], known - 1)
        _refuse_outside("days", days[part], ages - 1)
        place = np.multiply(classes[part], ages, dtype=np.intp)
        place += days[part]
        # Every place was checked above; "clip" spares a second check and the copy that goes with it.
        np.take(flat, place, out=chances[part], mode="clip")

    for _ in each_block(look_up, len(days)):
        pass
    return chances


def _refuse_outside(name: str, values: npt.NDArray[np.integer], last: int) -> None:
    if not len(values):
        return
    low, high = int(values.min()), int(values.max())
    if low < 0 or high > last:
        raise ParameterError(f"{name} must lie between 0 and {last}, got {low if low < 0 else high}")


def _spline(life: Life, horizon: float, top: float) -> tuple[Spline, npt.NDArray[np.bool_]]:
    """Log of the hazard over the horizon against log day from 0 to ``top``, on knots doubled until they agree.

    Also which pairs of steps between its knots are not to be trusted.
    """
    knots = np.linspace(0.0, max(top, 1.0), FIRST_KNOTS)
    values = _log_hazard(life, knots, horizon)
    while True:
        step = float(knots[1])
        between = knots[:-1] + step / 2
        there = _log_hazard(life, between, horizon)
        doubtful = _doubtful(values, even_spline(0.0, step, values)(between), there)
        values = np.insert(values, np.arange(1, len(values)), there)
        if not doubtful.any() or len(values) >= MOST_KNOTS:
            return even_spline(0.0, step / 2, values), np.convolve(
                doubtful, np.ones(2 * RINGING + 1), "same"
            ) > 0
        knots = np.linspace(0.0, float(knots[-1]), len(values))


def _doubtful(knots: FloatArray, guess: FloatArray, there: FloatArray) -> npt.NDArray[np.bool_]:
    """Gaps between knots where the spline misses the middle, or the chance climbs too fast to be sure of it."""
    missed = np.abs(_chance(guess) - _chance(there)) > TOLERANCE
    ends = np.clip(knots, *UNSETTLED)
    return missed | (np.abs(np.diff(ends)) > STEEPEST)


def _log_hazard(life: Life, log_day: FloatArray, horizon: float) -> FloatArray:
    """log(-log(1 - p)) of the posterior mean chance p, exact where p is close to 0 and where it is close to 1."""
    age, nodes = np.exp(log_day)[:, None] / DAYS_PER_YEAR, life.nodes
    added = added_hazard(age, np.asarray(horizon), np.exp(nodes.log_shape), nodes.log_scale)
    chance = np.minimum(-np.expm1(-added) @ nodes.weight, 0.5)
    whole = np.exp(-added) @ nodes.weight
    with np.errstate(divide="ignore"):
        log_hazard = np.log(np.where(chance < 0.5, -np.log1p(-chance), -np.log(whole)))
    return np.clip(log_hazard, *LOG_HAZARDS)


def _chance(log_hazard: FloatArray) -> FloatArray:
    chance: FloatArray = -np.expm1(-np.exp(log_hazard))
    return chance
