"""The frozen record of a bad spell that befalls every boat of one place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PlaceYear:
    """A ``spell`` of so many ``days`` that a place has in a year with a ``chance`` from low to high.

    What it does is worked out by the physics, or where ``classes`` are named judged: all that these bring about comes
    ``factor`` times as often in the year of the spell. Boats of another ``climate`` than named are spared; none named
    spares none.
    """

    spell: str
    label: str
    chance_low: float
    chance_high: float
    days: float
    climate: tuple[str, ...]
    classes: tuple[str, ...]
    factor_low: float | None
    factor_high: float | None
    note: str
    source: str
    status: str
