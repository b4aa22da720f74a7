"""What a look sees: every class, three ways of looking, more seen the closer one looks."""

from __future__ import annotations

import pytest

from riskmodel.errors import TableError
from riskmodel.trade import Range, Trade, load_trade

LOOKS = ("glanced", "handled", "opened")
OWN = {"source": "our workshop book", "status": "judgement"}
TESTED_NOT_LOOKED_AT = ("bilge_pump", "float_switch", "high_water_alarm", "engine_blower")
RUBBER_UNDER_CLAMPS = (
    *("bellows_drive", "bellows_shift", "bellows_exhaust", "saildrive_diaphragm", "shaft_log_hose"),
    *("fuel_fill_hose", "fuel_vent_hose", "fuel_feed_hose", "raw_water_hose", "wet_exhaust_hose"),
)


def test_every_class_can_be_looked_at_in_three_ways(trade: Trade) -> None:
    for item in trade.classes.values():
        assert tuple(item.detection) == LOOKS, item.item_class


def test_a_detection_range_is_a_low_and_a_high(trade: Trade) -> None:
    found = trade.classes["bellows_drive"].detection["glanced"]
    assert isinstance(found, Range)
    low, high = found
    assert (low, high) == (found.low, found.high)


def test_every_range_of_detection_rises_and_stops_at_ninety_five_in_a_hundred(trade: Trade) -> None:
    # judgement, no source: nobody finds everything every time
    for row in trade.detections:
        assert 0.0 < row.low < row.high <= 0.95, row


def test_a_closer_look_never_sees_less(trade: Trade) -> None:
    for item in trade.classes.values():
        ranges = [item.detection[look] for look in LOOKS]
        assert [r.low for r in ranges] == sorted(r.low for r in ranges), item.item_class
        assert [r.high for r in ranges] == sorted(r.high for r in ranges), item.item_class


def test_a_class_carries_the_ranges_of_its_rows(trade: Trade) -> None:
    for row in trade.detections:
        assert trade.classes[row.item_class].detection[row.thoroughness] == (row.low, row.high)


def test_detection_is_judgement_and_says_so(trade: Trade) -> None:
    # judgement, no source: nobody has counted what owners overlook
    assert {row.status for row in trade.detections} == {"judgement"}


@pytest.mark.parametrize("name", TESTED_NOT_LOOKED_AT)
def test_a_look_tells_little_of_what_only_a_test_can_show(trade: Trade, name: str) -> None:
    # judgement, no source
    item = trade.classes[name]
    assert item.detection["glanced"].high <= 0.05
    assert item.detection["opened"].high <= 0.4
    test = next(task for task in item.tasks if task.does == "test")
    assert test.detection_low is not None
    assert test.detection_low > item.detection["opened"].high


@pytest.mark.parametrize("name", RUBBER_UNDER_CLAMPS)
def test_nobody_sees_all_of_a_fold_or_under_a_clamp(trade: Trade, name: str) -> None:
    # common practice, no source: rubber is renewed on age whatever it looks like
    detection = trade.classes[name].detection
    assert detection["opened"].high <= 0.85
    assert detection["glanced"].high < detection["handled"].low


def test_the_hole_a_yacht_fears_most_is_the_hardest_to_look_at(trade: Trade) -> None:
    diaphragm = trade.classes["saildrive_diaphragm"].detection["opened"]
    bellows = trade.classes["bellows_drive"].detection["opened"]
    assert diaphragm.low < bellows.low
    assert diaphragm.high < bellows.high


def test_looking_tasks_agree_with_what_a_look_sees(trade: Trade) -> None:
    for item in trade.classes.values():
        for task in item.tasks:
            if task.does == "inspect":
                assert task.detection_low is not None
                assert task.detection_high is not None
                assert task.detection_low <= item.detection["opened"].high, task
                assert task.detection_high >= item.detection["handled"].low, task


def test_an_impeller_shows_nothing_until_its_cover_is_off(trade: Trade) -> None:
    detection = trade.classes["raw_water_impeller"].detection
    assert detection["handled"].high < detection["opened"].low


def test_an_overlay_detection_replaces_that_look_only(trade: Trade, overlay) -> None:
    row = {"item_class": "bellows_drive", "thoroughness": "handled", "low": 0.4, "high": 0.6, **OWN}
    own = load_trade(overlay("detection", row)).classes["bellows_drive"].detection
    assert own["handled"] == (0.4, 0.6)
    assert own["glanced"] == trade.classes["bellows_drive"].detection["glanced"]


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ({"high": 0.96}, r"detection\.csv row 2: high must be a number from 0 to 0\.95, got '0\.96'"),
        ({"low": 0.9, "high": 0.8}, r"low must not be above high \(0\.8\), got '0\.9'"),
        ({"thoroughness": "sniffed"}, "thoroughness must be one of glanced, handled, opened, got 'sniffed'"),
        ({"item_class": "shaft_paking"}, r"known item_class \(nearest: shaft_packing\)"),
        ({"thoroughness": "opened", "low": 0.3, "high": 0.95}, "low must not be below that of handled"),
        ({"thoroughness": "opened", "low": 0.7, "high": 0.75}, "high must not be below that of handled"),
        ({"thoroughness": "glanced", "low": 0.9, "high": 0.95}, "low must not be below that of glanced"),
        ({"source": ""}, "source must not be empty"),
    ],
)
def test_a_bad_look_is_refused(overlay, row: dict[str, object], message: str) -> None:
    with pytest.raises(TableError, match=message):
        load_trade(overlay("detection", {"item_class": "shaft_packing", **row}))


def test_a_look_told_twice_is_refused(overlay) -> None:
    with pytest.raises(TableError, match="must not repeat item_class, thoroughness"):
        load_trade(overlay("detection", {}, {}))
