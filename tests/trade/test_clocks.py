"""Which clock a class lives by, and the judged quantities of care that lives need."""

from __future__ import annotations

import pytest

from riskmodel.errors import TableError
from riskmodel.trade import Interval, ItemClass, Trade, load_trade

OWN = {"source": "our workshop book", "status": "judgement"}
RULE = "clock must be age without a renew_by or typical_life interval in hours"


def told(item: ItemClass, unit: str) -> list[Interval]:
    """Intervals in a unit that are published or common practice, looks apart."""
    return [
        row
        for row in item.intervals
        if row.unit == unit and row.meaning != "look" and row.status in {"published", "common practice"}
    ]


def seeding(item: ItemClass, unit: str) -> list[Interval]:
    return [row for row in item.intervals if row.unit == unit and row.meaning in {"renew_by", "typical_life"}]


def test_impellers_go_by_years_and_hours_and_nothing_else_does(trade: Trade) -> None:
    both = {name for name, item in trade.classes.items() if item.clock == "both"}
    assert both == {"raw_water_impeller"}
    assert {item.clock for item in trade.classes.values()} == {"age", "both"}


def test_both_clocks_are_used_only_where_both_limits_are_published_or_practice(trade: Trade) -> None:
    for item in trade.classes.values():
        if item.clock == "both":
            assert told(item, "years"), item.item_class
            assert told(item, "hours"), item.item_class
            assert "both clocks because published" in item.source


def test_a_second_clock_has_a_life_in_hours(trade: Trade) -> None:
    for item in trade.classes.values():
        assert item.clock == "age" or seeding(item, "hours"), item.item_class


def test_packing_keeps_its_limit_in_hours_but_goes_by_years(trade: Trade) -> None:
    # Its lives in years are judged, and two limits at one quantile shorten a life: both need a source.
    packing = trade.classes["shaft_packing"]
    assert packing.clock == "age"
    assert seeding(packing, "hours")


def test_no_look_is_told_in_hours(trade: Trade) -> None:
    rows = [row for item in trade.classes.values() for row in item.intervals if row.unit == "hours"]
    assert {row.meaning for row in rows} == {"renew_by"}


def test_hours_limits_fit_the_hours_that_boats_run(trade: Trade) -> None:
    # judgement, no source: a limit in hours and one in years that are 20 times apart are not of one part
    usual = [float(row.value) for row in trade.defaults if row.column == "hours_per_year"]
    for item in trade.classes.values():
        for row in seeding(item, "hours"):
            assert row.low / max(usual) > 0.5
            assert row.high / min(usual) < 30.0


def test_a_seasons_habit_of_packing_seeds_no_life(trade: Trade) -> None:
    # published: a boating insurer's article, 2014 (each season); a boat owners' forum (two years)
    rows = [row for row in trade.classes["shaft_packing"].intervals if row.meaning == "opportunity"]
    assert {(row.low, row.high, row.status) for row in rows} == {
        (1.0, 1.0, "published"),
        (2.0, 2.0, "published"),
    }


@pytest.mark.parametrize("clock", ["hours", "both"])
def test_a_clock_without_an_hours_interval_is_refused(overlay, clock: str) -> None:
    row = {"item_class": "bellows_drive", "mechanism": "elastomer_ageing", "clock": clock, **OWN}
    with pytest.raises(TableError, match=rf"classes\.csv row 2: {RULE}, got '{clock}'"):
        load_trade(overlay("classes", row))


def test_an_hours_look_seeds_no_clock(overlay) -> None:
    overlay("classes", {"item_class": "rudder_gland", "clock": "hours", **OWN})
    row = {"item_class": "rudder_gland", "meaning": "look", "low": 50, "high": 50, "unit": "hours", **OWN}
    with pytest.raises(TableError, match=RULE):
        load_trade(overlay("intervals", row))


@pytest.mark.parametrize("meaning", ["renew_by", "typical_life"])
def test_an_organisation_that_counts_hours_may_use_their_clock(overlay, meaning: str) -> None:
    overlay("classes", {"item_class": "rudder_gland", "clock": "hours", "propulsion": "any", **OWN})
    kept = {"item_class": "rudder_gland", "meaning": meaning, **OWN}
    rows = [kept | {"low": 8, "high": 15, "unit": "years"}, kept | {"low": 500, "high": 900, "unit": "hours"}]
    own = load_trade(overlay("intervals", *rows)).classes["rudder_gland"]
    assert own.clock == "hours"
    assert [row.low for row in seeding(own, "hours")] == [500.0]


def test_an_unknown_clock_is_refused(overlay) -> None:
    with pytest.raises(TableError, match="clock must be one of age, hours, both, got 'tide'"):
        load_trade(overlay("classes", {"clock": "tide"}))


@pytest.mark.parametrize(
    ("quantity", "spread"),
    [
        ("lot_hazard_sd", (0.2, 0.4, 0.8)),
        ("early_failure_share", (0.005, 0.02, 0.05)),
        ("fleet_shift_share", (0.3, 0.6, 0.9)),
        ("hours_rate_log_sd", (0.3, 0.5, 0.8)),
        ("reading_cap", (0.5, 0.67, 0.8)),
    ],
)
def test_what_lives_need_is_a_judged_spread(
    trade: Trade, quantity: str, spread: tuple[float, float, float]
) -> None:
    # judgement, no source
    assert trade.care[quantity] == spread
    assert trade.care_sources[quantity].status == "judgement"
    assert len(trade.care_sources[quantity].meaning) > 40


def test_shares_and_caps_stay_below_certain(trade: Trade) -> None:
    for quantity in ("early_failure_share", "fleet_shift_share", "reading_cap"):
        assert 0.0 < trade.care[quantity].low < trade.care[quantity].high < 1.0


def test_a_reading_at_its_cap_leaves_a_third_or_makes_three_of_a_life(trade: Trade) -> None:
    cap = trade.care["reading_cap"].typical
    assert 1.0 - cap == pytest.approx(1 / 3, abs=0.01)
    assert 1.0 / (1.0 - cap) == pytest.approx(3.0, abs=0.05)
