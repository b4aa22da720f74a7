"""Whether the judged figures, put together, give yearly rates that a claims desk would believe.

A simple reckoning of our own, apart from the library's lives: each class lets go at the mean rate of a
Weibull through the middle of its intervals, renewed when it needs work, or at the renew-by age by the judged
share of owners.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from riskmodel.trade import ItemClass, Trade, circumstance_factor, typical_outfit

PER = 100_000
# judgement, no source: an ordinary mix of boats, and the chance that pump and switch work when asked
MIX = {
    "outboard": 0.50,
    "sterndrive": 0.20,
    "inboard_shaft": 0.10,
    "inboard_jet": 0.04,
    "sail_shaft": 0.07,
    "sail_saildrive": 0.04,
    "sail_outboard": 0.05,
}
ON_TRAILERS = {"outboard": 0.75, "sterndrive": 0.5, "inboard_jet": 0.7}
BARRIER_READY = 0.65


def middle(low: float, high: float) -> float:
    return math.sqrt(low * high) if low > 0 else high / 2


def ten_per_cent_age(item: ItemClass) -> float:
    warning = middle(item.warning_low_months, item.warning_high_months) / 12
    ages = []
    for interval in item.intervals:
        if interval.unit == "years" and interval.meaning in {"renew_by", "typical_life"}:
            age = middle(interval.low, interval.high)
            if interval.meaning == "typical_life":
                age *= (math.log(0.9) / math.log(0.5)) ** (1 / item.mechanism.shape)
            ages.append(age + warning * (interval.grade == "needs_work"))
    return math.exp(sum(map(math.log, ages)) / len(ages))


def rate(trade: Trade, item: ItemClass) -> float:
    """Mean yearly chance of letting go on boats of up to thirty years."""
    shape = item.mechanism.shape
    scale = ten_per_cent_age(item) / (-math.log(0.9)) ** (1 / shape)
    age = np.linspace(0.005, 30, 3000)
    hazard = shape / scale * (age / scale) ** (shape - 1)
    warning = middle(item.warning_low_months, item.warning_high_months) / 12
    on_condition = np.exp(-(((age + warning) / scale) ** shape))
    by_age = [middle(i.low, i.high) for i in item.intervals if i.meaning == "renew_by" and i.unit == "years"]
    mean = float((hazard * on_condition).sum() / on_condition.sum())
    if not by_age:
        return mean
    kept = np.where(age < np.mean(by_age), np.exp(-((age / scale) ** shape)), 0.0)
    share = trade.care["share_renewing_at_interval"].typical
    return share * float((hazard * kept).sum() / kept.sum()) + (1 - share) * mean


def default(trade: Trade, column: str, kind: str) -> str:
    return next(r.value for r in trade.defaults if r.column == column and r.propulsion in {kind, "any"})


def end_state_rates(trade: Trade, kind: str, fuel: str) -> Counter[str]:
    """Events a hundred thousand boat-years of one kind, by end state."""
    stops: dict[str, float] = {}
    for barrier in trade.barriers:
        if barrier.barrier != "high_water_alarm":
            stops[barrier.end_state] = BARRIER_READY * middle(barrier.stops_low, barrier.stops_high)
    total: Counter[str] = Counter()
    for name, count in typical_outfit(trade, kind, float(default(trade, "length_m", kind)), 2005).items():
        item = trade.classes[name]
        for path in item.paths:
            if path.fuel in {"any", fuel}:
                chance = middle(path.low, path.high) * (1 - stops.get(path.end_state, 0.0))
                total[path.end_state] += PER * rate(trade, item) * count * chance
    ashore = ON_TRAILERS.get(kind, 0.0)
    trailer = middle(*circumstance_factor(trade, "sinking_unattended", {"kept": "trailer"}))
    total["sinking_unattended"] *= 1 - ashore + ashore * trailer
    return total


@pytest.fixture(scope="module")
def by_kind(trade: Trade) -> dict[str, Counter[str]]:
    return {kind: end_state_rates(trade, kind, default(trade, "fuel", kind)) for kind in MIX}


def sinkings(rates: Counter[str]) -> float:
    return rates["sinking_unattended"] + rates["sinking_under_way"]


def test_a_mixed_fleet_sinks_thirty_to_three_hundred_times_in_a_hundred_thousand_boat_years(by_kind) -> None:
    # judgement, no source
    assert 30 <= sum(MIX[kind] * sinkings(rates) for kind, rates in by_kind.items()) <= 300


@pytest.mark.parametrize("kind", ["sterndrive", "inboard_jet"])
def test_gasoline_inboards_burn_five_to_fifty_times_in_a_hundred_thousand_boat_years(
    by_kind, kind: str
) -> None:
    # judgement, no source
    assert 5 <= by_kind[kind]["fire_explosion"] <= 50


def test_a_gasoline_cruiser_with_shafts_burns_within_the_same_range(trade: Trade) -> None:
    # judgement, no source
    assert 5 <= end_state_rates(trade, "inboard_shaft", "gasoline")["fire_explosion"] <= 60


def test_the_records_bound_of_fuel_fires_is_not_undercut(by_kind) -> None:
    # published: US Coast Guard recreational boating accident records, counted by us: about 1.1 a year
    assert sum(MIX[kind] * rates["fire_explosion"] for kind, rates in by_kind.items()) >= 1.1


def test_gasoline_burns_more_often_than_diesel(trade: Trade) -> None:
    gasoline, diesel = (
        end_state_rates(trade, "inboard_shaft", fuel)["fire_explosion"] for fuel in ("gasoline", "diesel")
    )
    assert gasoline > 10 * diesel


def test_exhaust_gas_is_rarer_than_sinking(by_kind) -> None:
    assert all(rates["carbon_monoxide"] < sinkings(rates) for rates in by_kind.values())


def test_under_way_is_rarer_than_at_the_berth_for_boats_kept_afloat(by_kind) -> None:
    for kind in set(MIX) - set(ON_TRAILERS):
        assert by_kind[kind]["sinking_under_way"] < 0.5 * by_kind[kind]["sinking_unattended"]


def test_nuisance_is_by_far_the_most_common_end(by_kind) -> None:
    for rates in by_kind.values():
        assert rates["nuisance"] > 0.75 * sum(rates.values())


def test_yearly_rates_lie_where_a_yard_meets_them(trade: Trade) -> None:
    # judgement, no source: from once in two hundred years to once in three, per item
    for item in trade.classes.values():
        assert 0.005 < rate(trade, item) < 0.33, item.item_class


def test_parts_sink_boats_in_the_order_of_a_published_study(trade: Trade) -> None:
    # published: a boating insurer's claim study (2007 or earlier), sinkings out of 50 by underwater fittings:
    # packing 12, outdrive or shift bellows 11, strainer 4, transducer 2
    def share(kind: str, *names: str) -> float:
        outfit = typical_outfit(trade, kind, float(default(trade, "length_m", kind)), 1995)
        return sum(
            outfit[name] * rate(trade, trade.classes[name]) * middle(path.low, path.high)
            for name in names
            for path in trade.classes[name].paths
            if path.end_state == "sinking_unattended"
        )

    packing = share("inboard_shaft", "shaft_packing")
    strainer = share("inboard_shaft", "sea_strainer")
    assert packing > strainer > share("inboard_shaft", "transducer_fitting")
    assert share("sterndrive", "bellows_drive", "bellows_shift") > share(
        "sterndrive", "raw_water_hose", "hose_clamps"
    )
