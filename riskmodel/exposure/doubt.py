"""Shared doubt about boats whose outfit is assumed or whose visits nobody has told: all are off in the same direction.

A schedule without a list of parts takes the kind's typical outfit, one that does not say how often boats are seen to
takes the usual. If that is wrong it is wrong for the whole book at once: it must not average out over boats.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from riskmodel.arrays import FloatArray
from riskmodel.exposure.otherwise import chances_otherwise, otherwise
from riskmodel.risk import Assessment
from riskmodel.risk.draws import Draws

OUTFIT, ATTENDANCE = "assumed_outfit_log_sd", "attendance_log_sd"
# The step at which it is seen how hazards go with the time between visits: twice as long.
LONGER = 2.0
# Newton's steps from below, where a concave function is never overshot.
MOST_STEPS = 60
# What hazards of certain losses are taken to be: 1 - 1e-12 has one.
MOST_CHANCE = 1.0 - 1e-12


@dataclass(frozen=True, eq=False)
class Doubt:
    """Logarithms by which hazards are off in each draw: ``outfit`` and ``attendance`` (D,).

    ``assumed`` (n,): boats with an assumed outfit, which the first moves. ``power``: by end state (n,), how hazards go
    with the time between visits where that is not told, 0 elsewhere: by so many logarithms of the second.
    """

    outfit: FloatArray
    attendance: FloatArray
    assumed: npt.NDArray[np.bool_]
    power: dict[str, FloatArray]

    def told_visits(self, boats: npt.NDArray[np.bool_]) -> Doubt:
        """The doubt left once it is known how often these ``boats`` (n,) are visited."""
        return replace(self, power={name: np.where(boats, 0.0, each) for name, each in self.power.items()})

    def of(self, boats: slice) -> Doubt:
        """The doubt about some of the boats."""
        power = {name: each[boats] for name, each in self.power.items()}
        return replace(self, assumed=self.assumed[boats], power=power)

    def applied(self, states: tuple[str, ...], chance: FloatArray, mean: FloatArray) -> FloatArray:
        """Chances (n, K, D) of end states with the doubt in them; ``mean`` (n, K, D) is what each loss costs.

        Hazards are multiplied draw by draw; one number more for each boat and end state keeps the expected loss before
        terms, over the draws, what `rank` says.
        """
        nothing = np.zeros(len(chance))
        power = np.stack([self.power.get(name, nothing) for name in states], axis=1)
        moved = self.assumed | (power != 0).any(axis=1)
        off = self.assumed[:, None, None] * self.outfit + power[:, :, None] * self.attendance
        if not moved.any() or not off.any():
            return chance
        hazard = -np.log1p(-np.minimum(chance[moved], MOST_CHANCE)) * np.exp(off[moved])
        found = chance.copy()
        found[moved] = -np.expm1(-hazard * _exponents(hazard, mean[moved], chance[moved])[:, :, None])
        return found


def doubt_of(result: Assessment) -> Doubt:
    """The doubt about an assessed fleet, over the draws that `rank` has, each quantity in its own."""
    draws, care = Draws(result.seed), result.trade.care
    return Doubt(
        outfit=care[OUTFIT].typical * draws.normal(OUTFIT),
        attendance=care[ATTENDANCE].typical * draws.normal(ATTENDANCE),
        assumed=_assumed_outfits(result),
        power=_powers(result),
    )


def _assumed_outfits(result: Assessment) -> npt.NDArray[np.bool_]:
    """(n,) boats that have at least one part of an assumed outfit."""
    assumed = set(result.frame.loc[result.frame["assumed"], "vessel_id"])
    return result.fleet.vessels["vessel_id"].isin(assumed).to_numpy()


def _powers(result: Assessment) -> dict[str, FloatArray]:
    """By end state (n,), the power of the time between visits with which mean hazards go, worked out by the physics."""
    fleet = result.fleet
    untold = ~fleet.given["vessels"]["checked_every_days"].to_numpy(dtype=bool)
    seen = fleet.periods.loc[fleet.periods["visited_every_days"].notna(), "vessel_id"]
    untold &= ~fleet.vessels["vessel_id"].isin(set(seen)).to_numpy()
    if not untold.any():
        return {}
    rarer = LONGER * fleet.vessels["checked_every_days"]
    later = chances_otherwise(
        otherwise(result, replace(fleet, vessels=fleet.vessels.assign(checked_every_days=rarer)))
    )
    found = {}
    for name, chance in later.items():
        usual, other = (
            -np.log1p(-np.minimum(each.mean(axis=1), MOST_CHANCE)) for each in (result.boats[name], chance)
        )
        times = np.divide(other, usual, out=np.ones_like(usual), where=(usual > 0) & (other > 0))
        found[name] = np.where(untold, np.log(times) / np.log(LONGER), 0.0)
    return found


def _exponents(hazard: FloatArray, weight: FloatArray, chance: FloatArray) -> FloatArray:
    """(n, K) c with sum over draws of weight (1 - exp(-c hazard)) = sum of weight x chance; 1 where there is none."""
    wanted = (weight * np.minimum(chance, MOST_CHANCE)).sum(axis=2)
    found = np.zeros_like(wanted)
    open_ = wanted > 0
    for _ in range(MOST_STEPS):
        left = np.exp(-found[:, :, None] * hazard)
        short = wanted - (weight * (1.0 - left)).sum(axis=2)
        slope = (weight * hazard * left).sum(axis=2)
        found += np.where(open_, short / np.where(open_, slope, 1.0), 0.0)
        if (np.abs(short) <= 1e-13 * wanted).all():
            break
    return np.where(open_, found, 1.0)
