"""What becomes of one leak: vapour gathers, thins by the vents, meets a start, blower run or not, and sparks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskmodel.arrays import FloatArray
from riskmodel.consequence.fire.compartment import Compartment
from riskmodel.consequence.fire.vapour import Fuel, airborne, concentration, minutes_flammable, strongest
from riskmodel.consequence.quantities import share_over


@dataclass(frozen=True)
class Leak:
    """One way of leaking, each field (S,): see ``FuelLeak`` in the trade's tables."""

    share: FloatArray
    litres: FloatArray
    minutes: FloatArray
    hot: FloatArray
    occasions: FloatArray


@dataclass(frozen=True)
class Habits:
    """Before and at a start, each field (S,) or (n, S).

    ``blower_share`` of starts with the blower switched on first, ``blower_minutes`` it is left on; ``spark_a_minute``
    the chance of a spark while nobody starts anything, ``spark_at_start`` at a start, ``hot_lights`` that liquid on a
    hot or sparking part burns; ``alike`` how alike the strength is at all places and boats (see ``share_over``).
    """

    blower_share: FloatArray
    blower_minutes: FloatArray
    spark_a_minute: FloatArray
    spark_at_start: FloatArray
    hot_lights: FloatArray
    alike: FloatArray


@dataclass(frozen=True)
class Course:
    """Strengths of vapour as shares of the low layer's air, and minutes over the lower limit, all (n, S).

    ``waiting`` the strongest before the start; ``at_start`` with no blower run; ``left_standing`` after the minutes
    of a blower that moves no air, ``cleared`` after one that does.
    """

    waiting: FloatArray
    minutes_flammable: FloatArray
    at_start: FloatArray
    left_standing: FloatArray
    cleared: FloatArray


def course_of(leak: Leak, fuel: Fuel, space: Compartment, vents: FloatArray, habits: Habits) -> Course:
    """Vapour from a leak in a space whose ``vents`` take it away at a rate (n, S) [1/min].

    The blower draws off vapour only: the liquid goes on giving it off while it runs and after.
    """
    liquid = leak.litres * fuel.vapour_per_litre
    wait, run = leak.minutes, habits.blower_minutes
    blown = vents + space.blown
    before = airborne(liquid, fuel.evaporation, vents, wait)
    liquid_left = liquid * np.exp(-wait / fuel.evaporation)
    after = before * np.exp(-blown * run) + airborne(liquid_left, fuel.evaporation, blown, run)

    def strength(vapour: FloatArray) -> FloatArray:
        return concentration(vapour, space.pool, fuel.saturation)

    peak = strength(strongest(liquid, fuel.evaporation, vents, wait))
    # It thins no faster than the liquid gives off and the vents take away: the slower of the two.
    thinning = np.minimum(vents, 1.0 / fuel.evaporation)
    return Course(
        peak,
        np.minimum(minutes_flammable(peak, fuel.lower_limit, thinning), wait),
        strength(before),
        strength(airborne(liquid, fuel.evaporation, vents, wait + run)),
        strength(after),
    )


def lit(course: Course, leak: Leak, fuel: Fuel, habits: Habits) -> tuple[FloatArray, FloatArray]:
    """P(fire in one occasion), (n, S) each: where the blower moves no air, and where it works.

    Three ways to burn: a spark while vapour stands, a spark at the start, liquid on a hot part, which no blower stops.
    """
    sparks = habits.spark_a_minute * course.minutes_flammable
    liquid = leak.hot * habits.hot_lights
    neither = np.exp(-sparks) * (1.0 - liquid)

    def at_start(after_blower: FloatArray) -> FloatArray:
        run = habits.blower_share * share_over(after_blower, fuel.lower_limit, habits.alike)
        straight = (1.0 - habits.blower_share) * share_over(course.at_start, fuel.lower_limit, habits.alike)
        burning: FloatArray = 1.0 - neither * (1.0 - habits.spark_at_start * (run + straight))
        return burning

    return at_start(course.left_standing), at_start(course.cleared)
