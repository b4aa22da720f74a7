"""The frozen records of the physics of consequences: how each class opens to the sea, leaks and wastes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Opening:
    """One way in which a class lets water in once it has let go.

    ``share`` of such failures; ``area`` of the hole [mm2] for a part of ``bore_mm`` (grows with the bore's square);
    ``depth`` below the waterline [m] on a boat of ten metres (grows with length). ``at_berth`` is the share that
    begins with the boat lying still and nobody aboard, ``open`` the chance that the part is open to the sea then
    (a seacock left open, a run that siphons).
    """

    item_class: str
    mode: str
    share_low: float
    share_high: float
    area_low_mm2: float
    area_high_mm2: float
    bore_mm: float
    depth_low_m: float
    depth_high_m: float
    at_berth_low: float
    at_berth_high: float
    open_low: float
    open_high: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class FuelLeak:
    """One way in which a fuel hose leaks once it has let go.

    ``share`` of such failures; ``litres`` that reach the space before the next start, ``minutes`` between the two;
    ``hot`` the chance that liquid or spray meets a hot or sparking part; ``occasions`` fillings or starts with the
    leak before somebody smells or sees it (below 1: often found first).
    """

    item_class: str
    mode: str
    share_low: float
    share_high: float
    litres_low: float
    litres_high: float
    minutes_low: float
    minutes_high: float
    hot_low: float
    hot_high: float
    occasions_low: float
    occasions_high: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class ExhaustLeak:
    """One way in which an exhaust part leaks gas once it has let go.

    ``share`` of such failures; ``gas`` the share of the engine's exhaust that escapes, ``inside`` the share of that
    which comes to where people are; ``minutes`` of running before noise, soot or water stops it; ``occasions`` runs
    with the leak before it is found.
    """

    item_class: str
    mode: str
    share_low: float
    share_high: float
    gas_low: float
    gas_high: float
    inside_low: float
    inside_high: float
    minutes_low: float
    minutes_high: float
    occasions_low: float
    occasions_high: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class SlowDamage:
    """One measure of how damage grows in a class that has let go, where the vessel's columns hold these words.

    ``needs``: what the damage does nothing without: "water" round the boat, the engine "running", or "nothing".
    ``measure``: reached (share of failures that harm anything), delay (months before it starts), least (smallest bill
    for it, a share of the end state's reference loss), growth a month on top and its most (such a share, or m2 of core
    by ``unit``), noticed (chance that a visit sees it), or growth_factor, by which growth is multiplied. Blank
    conditions hold everywhere; of several rows the one with the most conditions holds, and factors multiply.
    """

    item_class: str
    end_state: str
    needs: str
    measure: str
    core: str
    water: str
    climate: str
    kept: str
    propulsion: str
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    status: str


@dataclass(frozen=True)
class BackgroundCause:
    """What brings water aboard whatever the parts do, where a vessel's ``column`` has the ``level`` (blank: always).

    So many events a year afloat, each of so much water [mm on the open deck] in the middle one; one that ``gathers``
    is given by the week, and adds up between two visits.
    """

    cause: str
    label: str
    column: str
    level: str
    gathers: bool
    events_per_year_low: float
    events_per_year_high: float
    water_mm_low: float
    water_mm_high: float
    note: str
    source: str
    status: str
