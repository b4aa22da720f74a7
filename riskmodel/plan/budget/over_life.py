"""What renewing a part averts over longer and shorter times than the horizon, from how its chance builds up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.risk import Assessment
from riskmodel.risk.ahead import chances_ahead
from riskmodel.risk.worked import early_failures

# Nobody plans small craft further ahead than this, whatever a part's renewal age (years; judgement).
LONGEST = 10.0
# Parts of the remaining life at which what is averted is asked.
PARTS_OF_LIFE = (0.5, 1.0)
TINY = np.finfo(float).tiny


@dataclass(frozen=True)
class OverLife:
    """Per item (n,): ``later``: share of what a renewal today averts by the horizon's end that one after the delay
    does; ``now_life`` and ``later_life``: loss averted [currency] by both until a part new today is at its renewal
    age, at most LONGEST years from the day and never less than the horizon."""

    later: FloatArray
    now_life: FloatArray
    later_life: FloatArray


def over_life(result: Assessment, delay: FloatArray, worth: tuple[FloatArray, FloatArray]) -> OverLife:
    """What renewing each part averts over its remaining life, today and after ``delay`` (items,) [years].

    ``result`` has the faults of new work in it; ``worth``: loss averted by a renewal today and loss with nothing
    done (items,), over the horizon.

    An approximation: first failures only, each at the part's mean loss over the horizon, nothing discounted. With F
    the chance of having let go as the part stands, G as a new one and e the share of early faults, renewal at t
    averts by time T the loss of one failure times

        F(T) - F(t) - (1 - F(t)) (e + (1 - e) G(T - t)).

    Over the life it is the most that this comes to up to its end: where a new part would itself have let go by then,
    what was averted before was averted all the same. F and G rise as at the middle of what is believed of the class,
    and are tied to the assessment's chances at the horizon. What stands between a leak and a sinking has no loss of
    its own: its worth goes with the time it has to stand there.
    """
    renewal, loss = worth
    years = np.full(len(delay), result.horizon.years)
    life = np.maximum(_life(result), years)
    upto = [years, *(np.maximum(part * life, years) for part in PARTS_OF_LIFE)]
    since = [np.maximum(time - delay, 0.0) for time in upto]
    gone, worked = _building_up(result, np.column_stack([years, delay, *upto[1:], *since]))
    of_one = loss / np.maximum(result.parts.mean, TINY)
    # Columns: the horizon, the delay, each longer time; then each time with the delay taken off.
    ends = [0, *range(2, 2 + len(PARTS_OF_LIFE))]
    late = range(2 + len(PARTS_OF_LIFE), 2 + len(PARTS_OF_LIFE) + len(upto))
    before = gone[:, 1]
    now = [np.maximum(gone[:, end] - worked[:, end], 0.0) for end in ends]
    later = [
        np.maximum(gone[:, end] - before - (1.0 - before) * worked[:, start], 0.0)
        for end, start in zip(ends, late, strict=True)
    ]
    share = np.where(now[0] > 0, later[0] / np.maximum(now[0], TINY), 0.0)
    guards = _guards(result)
    return OverLife(
        np.where(guards, 1.0 - delay / years, np.minimum(share, 1.0)),
        np.where(guards, renewal * life / years, of_one * np.max(now, axis=0)),
        np.where(guards, renewal * np.maximum(life - delay, 0.0) / years, of_one * np.max(later, axis=0)),
    )


def _building_up(result: Assessment, times: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Chance (items, times) of having let go as each part stands, and once renewed with the faults of new work."""
    ahead = chances_ahead(result.learned, times, seed=result.seed)
    early = early_failures(result)
    new = (np.minimum(result.parts.kept, 1.0) * result.parts.drawn).mean(axis=1)
    plain = np.maximum((new - early) / (1.0 - early), 0.0)
    fresh = _tied(ahead.fresh, plain)
    return _tied(ahead.standing, result.parts.mean), early[:, None] + (1.0 - early[:, None]) * fresh


def _tied(chance: FloatArray, at_horizon: FloatArray) -> FloatArray:
    """The chances with one exponent a row on survival, so that the first column is ``at_horizon``."""
    hazard = -np.log1p(-np.minimum(chance, 1.0 - 1e-12))
    wanted = -np.log1p(-np.minimum(at_horizon, 1.0 - 1e-12))
    power = np.where(hazard[:, 0] > 0, wanted / np.maximum(hazard[:, 0], TINY), 0.0)
    tied: FloatArray = -np.expm1(-hazard * power[:, None])
    return tied


def _life(result: Assessment) -> FloatArray:
    """(items,) years from the day until a part new today is at the maker's or the trade's renewal age."""
    items, seeds = result.fleet.items, result.lives.seeds
    trade_age = items["item_class"].map({name: seed.upkeep.renewal_age for name, seed in seeds.items()})
    age = items["maker_interval_years"].astype(float).fillna(trade_age).to_numpy(dtype=float)
    life: FloatArray = np.minimum(age, LONGEST)
    return life


def _guards(result: Assessment) -> npt.NDArray[np.bool_]:
    """(items,) True for parts that stand between a failure and its end."""
    guards = np.zeros(len(result.fleet.items), dtype=bool)
    for place in result.barriers.places.values():
        guards[place] = True
    return guards
