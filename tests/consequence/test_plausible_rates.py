"""Whether lives and consequences, put together, give yearly rates that a claims desk would believe.

A simple reckoning of our own, apart from the library's lives: each class lets go at the mean rate of a
Weibull through the middle of its intervals, renewed when it needs work, or at the renew-by age by the judged
share of owners. What follows is the library's: the mean over the scenarios on an ordinary boat of each kind.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence import item_following
from riskmodel.trade import ItemClass, Trade, load_trade, typical_outfit

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


@pytest.fixture(scope="module")
def ways(boats_and_year):
    """What follows from each class of each kind's outfit, afloat and on a trailer, per fuel: rows with their chance
    while pump and blower are as ready as judged and there is no alarm, and that chance by the size of the loss."""
    trade = load_trade()
    boats = [
        {
            **{"vessel_id": f"{kind}/{fuel}/{kept}", "propulsion": kind, "fuel": fuel, "kept": kept},
            **{
                "length_m": default(trade, "length_m", kind),
                "battery_ah": default(trade, "battery_ah", kind),
            },
        }
        for kind in MIX
        for fuel in ("gasoline", "diesel")
        for kept in ("afloat", "trailer")
    ]
    items = [
        {"item_class": name, "vessel_id": boat["vessel_id"]}
        for boat in boats
        for name in outfit(trade, boat["propulsion"], 2005) | outfit(trade, boat["propulsion"], 1995)
    ]
    parts, _, year = boats_and_year(items, boats)
    following = item_following(parts, year, trade)
    none, first = following.chance[:, :, 0], following.chance[:, :, 1]
    ready = none + BARRIER_READY * (first - none)
    return following.rows.assign(
        unguarded=none.mean(axis=1),
        chance=ready.mean(axis=1),
        sized=(ready * following.loss_factor).mean(axis=1),
    )


def outfit(trade: Trade, kind: str, built: int) -> dict[str, float]:
    return typical_outfit(trade, kind, float(default(trade, "length_m", kind)), built)


def end_state_rates(ways: pd.DataFrame, kind: str, fuel: str, column: str = "chance") -> Counter[str]:
    """Events a hundred thousand boat-years of one kind, by end state."""
    trade = load_trade()
    total: Counter[str] = Counter()
    aboard = outfit(trade, kind, 2005)
    ashore = ON_TRAILERS.get(kind, 0.0)
    for kept, share in (("afloat", 1 - ashore), ("trailer", ashore)):
        mine = ways[(ways["vessel_id"] == f"{kind}/{fuel}/{kept}") & ways["item_class"].isin(aboard)]
        for name, end_state, chance in zip(mine["item_class"], mine["end_state"], mine[column], strict=True):
            total[end_state] += PER * share * aboard[name] * rate(trade, trade.classes[name]) * chance
    return total


@pytest.fixture(scope="module")
def by_kind(ways: pd.DataFrame, trade: Trade) -> dict[str, Counter[str]]:
    return {kind: end_state_rates(ways, kind, default(trade, "fuel", kind)) for kind in MIX}


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


def test_a_gasoline_cruiser_with_shafts_burns_within_the_same_range(ways: pd.DataFrame) -> None:
    # judgement, no source
    assert 5 <= end_state_rates(ways, "inboard_shaft", "gasoline")["fire_explosion"] <= 60


def test_the_records_bound_of_fuel_fires_is_not_undercut(by_kind) -> None:
    # published: US Coast Guard recreational boating accident records, counted by us: about 1.1 a year
    assert sum(MIX[kind] * rates["fire_explosion"] for kind, rates in by_kind.items()) >= 1.1


def test_gasoline_burns_more_often_than_diesel(ways: pd.DataFrame) -> None:
    gasoline, diesel = (
        end_state_rates(ways, "inboard_shaft", fuel)["fire_explosion"] for fuel in ("gasoline", "diesel")
    )
    assert gasoline > 10 * diesel


def test_exhaust_gas_is_rarer_than_sinking(by_kind) -> None:
    assert all(rates["carbon_monoxide"] < sinkings(rates) for rates in by_kind.values())


def test_under_way_is_rarer_than_at_the_berth_for_boats_kept_afloat(by_kind) -> None:
    for kind in set(MIX) - set(ON_TRAILERS):
        assert by_kind[kind]["sinking_under_way"] < 0.5 * by_kind[kind]["sinking_unattended"]


def test_nuisance_is_by_far_the_most_common_end(ways: pd.DataFrame, trade: Trade) -> None:
    # Damage that grows is begun often and mostly found small: it counts by its size against the reference loss.
    for kind in MIX:
        rates = end_state_rates(ways, kind, default(trade, "fuel", kind), "sized")
        assert rates["nuisance"] > 0.75 * sum(rates.values())


def test_no_other_end_is_begun_as_often_as_a_nuisance(by_kind) -> None:
    for rates in by_kind.values():
        assert rates.most_common(1)[0][0] == "nuisance"
        assert rates["nuisance"] > 0.5 * sum(rates.values())


def test_yearly_rates_lie_where_a_yard_meets_them(trade: Trade) -> None:
    # judgement, no source: from once in two hundred years to once in three, per item
    for item in trade.classes.values():
        assert 0.005 < rate(trade, item) < 0.33, item.item_class


def test_parts_sink_boats_in_the_order_of_a_published_study(ways: pd.DataFrame, trade: Trade) -> None:
    # published: a boating insurer's claim study (2007 or earlier), sinkings out of 50 by underwater fittings:
    # packing 12, outdrive or shift bellows 11, strainer 4, transducer 2
    def share(kind: str, *names: str) -> float:
        vessel = f"{kind}/{default(trade, 'fuel', kind)}/afloat"
        berth = ways[(ways["vessel_id"] == vessel) & (ways["end_state"] == "sinking_unattended")]
        chance = berth.set_index("item_class")["unguarded"]
        aboard = outfit(trade, kind, 1995)
        return sum(aboard[name] * rate(trade, trade.classes[name]) * chance[name] for name in names)

    packing = share("inboard_shaft", "shaft_packing")
    strainer = share("inboard_shaft", "sea_strainer")
    assert packing > strainer > share("inboard_shaft", "transducer_fitting")
    assert share("sterndrive", "bellows_drive", "bellows_shift") > share(
        "sterndrive", "raw_water_hose", "hose_clamps"
    )
