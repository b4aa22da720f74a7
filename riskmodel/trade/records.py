"""The frozen records a trade table is read into, one field a column."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from riskmodel.trade.evidence import Detection, Reading, Surrounding
from riskmodel.trade.materials import Material
from riskmodel.trade.physics import BackgroundCause, ExhaustLeak, FuelLeak, Opening, SlowDamage
from riskmodel.trade.places import PlaceYear
from riskmodel.trade.ranges import Range, Spread
from riskmodel.trade.severity import EndState, ProbabilityLevel, SeverityCategory


@dataclass(frozen=True)
class Interval:
    """One trade interval of a class; several may disagree and all are kept (``unit`` years or hours)."""

    item_class: str
    meaning: str
    grade: str
    low: float
    high: float
    unit: str
    source: str
    status: str
    note: str


@dataclass(frozen=True)
class Mechanism:
    """How a class wears out: the middle of its Weibull shape and the spread of that shape's logarithm."""

    mechanism: str
    shape: float
    log_sd: float
    meaning: str
    source: str
    status: str


@dataclass(frozen=True)
class Task:
    """A piece of work on an item: hours and cost (parts and labour, no haul-out) at the reference length.

    ``detection_low`` and ``detection_high`` are the chance that an inspection sees an open warning window,
    or that a test shows a dead item; None for work that looks at nothing.
    """

    item_class: str
    task: str
    does: str
    what: str
    out_of_water: bool
    skill: str
    hours_low: float
    hours_high: float
    cost_low: float
    cost_high: float
    currency: str
    price_year: int
    scales_with: str
    reference_length_m: float
    detection_low: float | None
    detection_high: float | None
    source: str
    status: str


@dataclass(frozen=True)
class HarmPath:
    """P(end state | the item lets go in service), no automatic barrier working, reference circumstances.

    Reference: afloat, looked at weekly, about 10 m, temperate, solid core. ``fuel`` any, gasoline or diesel.
    The share of the year under way is already in the figures.
    """

    item_class: str
    end_state: str
    fuel: str
    low: float
    high: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class ItemClass:
    """A kind of part: its words, its warning window, and all that the trade tables say of it.

    The window [months] runs from visibly needing work to letting go; low to high is its central 90 % across
    parts. ``clock`` is age, hours or both. ``detection`` is by thoroughness.
    """

    item_class: str
    label: str
    mechanism: Mechanism
    clock: str
    fails_unseen: bool
    renewed_on_age: bool
    warning_low_months: float
    warning_high_months: float
    propulsion: tuple[str, ...]
    description: str
    needs_work: str
    lets_go: str
    how_to_look: str
    source: str
    status: str
    intervals: tuple[Interval, ...]
    tasks: tuple[Task, ...]
    paths: tuple[HarmPath, ...]
    detection: Mapping[str, Range]


@dataclass(frozen=True)
class Circumstance:
    """A factor on a path's probability where a vessel's column has a level, or lies in [at_least, below)."""

    end_state: str
    column: str
    level: str
    at_least: float | None
    below: float | None
    factor_low: float
    factor_high: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class Barrier:
    """Classes that together (all must work) stop a share of what would reach an end state."""

    barrier: str
    end_state: str
    needs: tuple[str, ...]
    stops_low: float
    stops_high: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class OutfitRow:
    """Expected count of a class on a kind of boat; lengths [m] and build years half open, None where open."""

    propulsion: str
    item_class: str
    length_from_m: float | None
    length_below_m: float | None
    built_from: float | None
    built_before: float | None
    quantity: float
    source: str
    status: str


@dataclass(frozen=True)
class Propulsion:
    """A kind of boat by how it is driven; ``under_way_share`` of the year restates what the paths hold.

    The value columns guess what a boat is worth (money.guessed_value) where its keeper has not said.
    """

    propulsion: str
    label: str
    under_way_share: float
    new_value_per_cubic_metre: float
    value_kept_each_year: float
    least_value_share: float
    meaning: str
    source: str
    status: str


@dataclass(frozen=True)
class Default:
    """The value a fleet's column takes where nothing is written, as text."""

    table: str
    column: str
    propulsion: str
    value: str
    unit: str
    source: str
    status: str


@dataclass(frozen=True)
class Care:
    """One quantity of how owners look after things, of how far we trust trade figures, or of the physics: its range
    (central 90 % of our doubt), unit and source."""

    quantity: str
    low: float
    typical: float
    high: float
    unit: str
    meaning: str
    source: str
    status: str


@dataclass(frozen=True)
class Limit:
    """A limit that a user may set."""

    limit: str
    value: float
    unit: str
    meaning: str
    source: str
    status: str


@dataclass(frozen=True)
class Regulation:
    """A published rule, for whom it holds and its value as the rule words it."""

    rule: str
    applies_to: str
    condition: str
    value: str
    units: str
    status: str
    source: str


@dataclass(frozen=True)
class Practice:
    """A measure the trade goes by, apart from renewal lives; ``item_class`` may be any."""

    item_class: str
    measure: str
    condition: str
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    status: str


@dataclass(frozen=True)
class Caution:
    """A sentence of warning; topic ``foot`` stands under every report, the others by class."""

    topic: str
    applies_to: tuple[str, ...]
    text: str
    source: str
    status: str


@dataclass(frozen=True)
class Trade:
    """The whole knowledge base, checked: whoever holds one may trust it.

    ``unit``: what one unit of the price tables' currency is in the currency that prices are in here.
    """

    classes: Mapping[str, ItemClass]
    mechanisms: Mapping[str, Mechanism]
    haul_out: Task
    end_states: Mapping[str, EndState]
    circumstances: tuple[Circumstance, ...]
    barriers: tuple[Barrier, ...]
    outfits: tuple[OutfitRow, ...]
    propulsions: Mapping[str, Propulsion]
    defaults: tuple[Default, ...]
    care: Mapping[str, Spread]
    care_sources: Mapping[str, Care]
    limits: Mapping[str, Limit]
    regulations: tuple[Regulation, ...]
    practice: tuple[Practice, ...]
    detections: tuple[Detection, ...]
    surroundings: tuple[Surrounding, ...]
    readings: tuple[Reading, ...]
    cautions: tuple[Caution, ...]
    physics: Mapping[str, Care]
    openings: tuple[Opening, ...]
    background: tuple[BackgroundCause, ...]
    severities: Mapping[str, SeverityCategory]
    probability_levels: Mapping[str, ProbabilityLevel]
    slow_damage: tuple[SlowDamage, ...]
    fuel_leaks: tuple[FuelLeak, ...]
    exhaust_leaks: tuple[ExhaustLeak, ...]
    materials: tuple[Material, ...]
    place_years: Mapping[str, PlaceYear]
    unit: float = 1.0
