"""What a measured reading finds, held to what the trade goes by."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError, TableError
from riskmodel.trade import Practice, Trade, finding_of_reading, load_trade, readings_of

ORDER = ("sound", "suspect", "failing", "failed")
READINGS = load_trade().readings
JUDGED = [row for row in READINGS if row.compare != "made_on"]
# exact definitions: a foot is 0.3048 m, a US gallon 3.785411784 L
CUBIC_FEET_A_MINUTE = 0.3048**3 / 60.0
GALLON = 3.785411784
OWN = {"source": "our workshop book", "status": "judgement"}


def find(trade: Trade, name: str, value: float, unit: str) -> str:
    return finding_of_reading(trade, name, value, unit)


def practice(trade: Trade, item_class: str, measure: str, condition: str) -> Practice:
    (row,) = [
        row
        for row in trade.practice
        if (row.item_class, row.measure) == (item_class, measure)
        and row.condition == condition
        and row.status != "published"
    ]
    return row


# Glands


@pytest.mark.parametrize("drips", [1, 3, 4])
def test_three_or_four_drips_turning_are_sound(trade: Trade, drips: int) -> None:
    # common practice, no source
    assert find(trade, "shaft_packing", drips, "drips/min turning") == "sound"


def test_about_ten_drips_turning_call_for_work(trade: Trade) -> None:
    # common practice, no source
    limit = practice(trade, "shaft_packing", "drips_calling_for_work", "shaft turning").low
    assert find(trade, "shaft_packing", limit, "drips/min turning") == "failing"
    assert find(trade, "shaft_packing", limit - 1, "drips/min turning") == "suspect"


@pytest.mark.parametrize("drips", [0.1, 1, 5])
def test_any_drip_at_rest_calls_for_work(trade: Trade, drips: float) -> None:
    # common practice, no source
    assert find(trade, "shaft_packing", drips, "drips/min at rest") == "failing"
    assert find(trade, "shaft_packing", 0, "drips/min at rest") == "sound"


def test_no_drip_from_turning_wet_packing_is_a_finding_too(trade: Trade) -> None:
    # common practice, no source
    assert find(trade, "shaft_packing", 0, "drips/min turning") == "suspect"
    (row,) = [row for row in READINGS if row.compare == "at_most" and row.item_class == "shaft_packing"]
    assert row.condition.startswith("wet-lubricated")
    assert row.status == "common practice"


def test_the_published_rates_that_disagree_are_told_beside_the_threshold(trade: Trade) -> None:
    # published: a boating insurer's loss-prevention article, April 2014, allows 60-120
    (row,) = [
        row for row in readings_of(trade, "shaft_packing", "drips/min turning") if row.compare == "at_least"
    ]
    assert "60-120" in row.meaning


def test_a_gland_that_streams_has_let_go(trade: Trade) -> None:
    # judgement, no source; twenty drips to the millilitre is the usual convention (from memory)
    (row,) = readings_of(trade, "shaft_packing", "drips/min at rest")
    assert row.failed is not None
    litres_a_day = row.failed / 20.0 / 1000.0 * 60 * 24
    assert 50 <= litres_a_day <= 100
    assert find(trade, "shaft_packing", row.failed, "drips/min at rest") == "failed"


def test_a_gland_runs_no_hotter_than_thirty_fahrenheit_over_the_water(trade: Trade) -> None:
    # published: a sailing magazine's upkeep article, 2011
    assert find(trade, "shaft_packing", 29, "degF above the water") == "sound"
    assert find(trade, "shaft_packing", 30, "degF above the water") == "suspect"
    (celsius,) = readings_of(trade, "shaft_packing", "degC above the water")
    assert celsius.suspect == pytest.approx(30 / 1.8, abs=0.5)
    assert celsius.failing == pytest.approx(63 / 1.8)


def test_a_face_seal_is_drier_than_packing(trade: Trade) -> None:
    assert find(trade, "face_shaft_seal", 4, "drips/min turning") == "suspect"
    assert find(trade, "face_shaft_seal", 0, "drips/min turning") == "sound"


# Metal


def test_chain_is_renewed_at_ten_per_cent(trade: Trade) -> None:
    # from memory: classification practice, not verified
    limit = practice(trade, "rode_chain", "wear_limit", "loss of link diameter").low
    assert find(trade, "rode_chain", limit, "% of diameter lost") == "failing"
    assert find(trade, "rode_chain", limit - 0.1, "% of diameter lost") == "suspect"


@pytest.mark.parametrize("size", [6, 8, 10, 13])
def test_millimetres_of_chain_come_to_the_same_as_per_cent(trade: Trade, size: int) -> None:
    (percent,) = readings_of(trade, "rode_chain", "% of diameter lost")
    (lost,) = readings_of(trade, "rode_chain", f"mm lost of {size} mm")
    for name in ("suspect", "failing", "path_low", "path_high"):
        assert getattr(lost, name) == pytest.approx(getattr(percent, name) * size / 100.0)


def test_chain_has_not_let_go_until_it_parts(trade: Trade) -> None:
    assert find(trade, "rode_chain", 60, "% of diameter lost") == "failing"


def test_an_anode_is_renewed_at_half(trade: Trade) -> None:
    # common practice, no source
    limit = practice(trade, "sacrificial_anode", "wear_limit", "wastage").low
    assert find(trade, "sacrificial_anode", limit, "% wasted") == "failing"
    assert find(trade, "sacrificial_anode", 20, "% wasted") == "sound"


def test_an_anode_is_half_gone_in_about_the_time_it_is_renewed(trade: Trade) -> None:
    # common practice, no source: renewed every half year to a year
    (row,) = readings_of(trade, "sacrificial_anode", "% wasted")
    assert row.path_low is not None
    assert row.path_high is not None
    assert 50 / row.path_high < 0.5 <= 1.0 < 50 / row.path_low


# Flow


def test_a_system_moves_two_fifths_of_its_blowers_rating(trade: Trade) -> None:
    # from memory: 33 CFR 183.610, system output 20 of 50 cfm, 0.6 V of 1.5 V
    assert find(trade, "engine_blower", 40, "% of rated flow") == "failing"
    assert pytest.approx(0.4) == 20 / 50 == pytest.approx(0.6 / 1.5)
    assert find(trade, "engine_blower", 80, "% of rated flow") == "sound"


def test_cubic_metres_of_air_come_to_the_same_as_cubic_feet(trade: Trade) -> None:
    # from memory: 33 CFR 183.610, 20 cfm in the smallest space
    (feet,), (metres,) = (readings_of(trade, "engine_blower", unit) for unit in ("cfm", "m3/h"))
    assert feet.failing == 20
    for name in ("suspect", "failing", "failed", "path_low", "path_high"):
        in_metres = getattr(feet, name) * CUBIC_FEET_A_MINUTE * 3600
        assert getattr(metres, name) == pytest.approx(in_metres, rel=0.01)


@pytest.mark.parametrize("bore", [75, 100])
def test_the_speed_of_air_in_a_duct_comes_to_the_same_flow(trade: Trade, bore: int) -> None:
    (row,) = readings_of(trade, "engine_blower", f"m/s in {bore} mm duct")
    area = math.pi / 4.0 * (bore / 1000.0) ** 2
    assert row.failing == pytest.approx(20 * CUBIC_FEET_A_MINUTE / area, rel=0.03)
    assert row.suspect == pytest.approx(30 * CUBIC_FEET_A_MINUTE / area, rel=0.03)


def test_a_pump_that_moves_half_its_label_is_sound(trade: Trade) -> None:
    # published: a trade page on installed pump tests, 40-50 %
    assert find(trade, "bilge_pump", 50, "% of rated flow") == "sound"
    assert find(trade, "bilge_pump", 39, "% of rated flow") == "suspect"


def test_a_bucket_fills_at_fifteen_litres_a_minute_or_the_pump_needs_work(trade: Trade) -> None:
    # published: ISO 15083 for hulls of 6 to 12 m, as quoted in secondary pages
    assert find(trade, "bilge_pump", 15, "L/min") == "failing"
    assert find(trade, "bilge_pump", 30, "L/min") == "sound"
    (litres,), (gallons,) = (readings_of(trade, "bilge_pump", unit) for unit in ("L/min", "gpm"))
    for name in ("suspect", "failing", "failed"):
        assert getattr(gallons, name) * GALLON == pytest.approx(getattr(litres, name), rel=0.06)


def test_a_wet_deck_is_a_finding_and_a_dry_one_is_sound(trade: Trade) -> None:
    # judgement, no source
    findings = [find(trade, "deck_bedding", value, "% moisture") for value in (12, 22, 35, 80)]
    assert findings == ["sound", "suspect", "failing", "failed"]


# Years, units and refusals


@pytest.mark.parametrize("name", ["fuel_fill_hose", "bellows_drive", "saildrive_diaphragm"])
def test_a_marked_year_finds_nothing(trade: Trade, name: str) -> None:
    assert find(trade, name, 2012, "year marked") == ""
    (row,) = readings_of(trade, name, "year marked")
    assert row.compare == "made_on"


@pytest.mark.parametrize("unit", ["", "drips", "furlongs", "% wasted"])
def test_a_unit_that_says_nothing_of_the_class_finds_nothing(trade: Trade, unit: str) -> None:
    assert find(trade, "shaft_packing", 500, unit) == ""


def test_capitals_and_stray_spaces_in_a_unit_do_not_matter(trade: Trade) -> None:
    assert find(trade, "shaft_packing", 12, " Drips/min  turning ") == "failing"
    assert find(trade, "bilge_pump", 10, "l/min") == "failing"


@given(row=st.sampled_from(JUDGED), value=st.floats(0.0, 2000.0), more=st.floats(0.0, 2000.0))
def test_a_worse_reading_is_never_a_better_finding(row, value: float, more: float) -> None:
    trade = load_trade()
    rows = readings_of(trade, row.item_class, row.reading_unit)
    if len(rows) > 1:  # too few and too many are both bad: worse has no one direction
        value = max(value, 1.0)
    grades = [ORDER.index(find(trade, row.item_class, at, row.reading_unit)) for at in (value, value + more)]
    assert grades == sorted(grades, reverse=rows[0].compare == "at_most")


@pytest.mark.parametrize("row", JUDGED, ids=lambda row: f"{row.item_class}-{row.reading_unit}-{row.compare}")
def test_each_threshold_is_where_its_finding_begins(trade: Trade, row) -> None:
    beyond = -1e-6 if row.compare == "at_least" else 1e-6
    for place, name in enumerate(ORDER[1:], start=1):
        threshold = getattr(row, name)
        if threshold is not None:
            assert ORDER.index(find(trade, row.item_class, threshold, row.reading_unit)) >= place
            assert ORDER.index(find(trade, row.item_class, threshold + beyond, row.reading_unit)) < place


def test_a_trend_is_a_rising_range_and_comes_with_a_grade_to_run_into(trade: Trade) -> None:
    # judgement, no source
    trends = [row for row in JUDGED if row.path_low is not None]
    assert {row.item_class for row in trends} >= {"shaft_packing", "rode_chain", "sacrificial_anode"}
    for row in trends:
        assert row.failing is not None
        assert row.path_high is not None
        assert 0.0 < row.path_low < row.path_high, row


@pytest.mark.parametrize("value", [math.nan, math.inf, -1.0])
def test_a_reading_that_is_no_number_is_refused(trade: Trade, value: float) -> None:
    with pytest.raises(ParameterError, match="reading must be a finite number from 0 up, got"):
        find(trade, "shaft_packing", value, "drips/min turning")


def test_a_reading_of_an_unknown_class_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match=r"item_class must be one of shaft_packing, .*, got 'mast'"):
        find(trade, "mast", 1, "drips/min turning")


def test_an_overlay_reading_replaces_ours_of_that_unit(trade: Trade, overlay) -> None:
    row = {"reading_unit": "drips/min turning", "suspect": 60, "failing": 120, "failed": 2000, **OWN}
    own = load_trade(overlay("readings", row))
    assert find(own, "shaft_packing", 40, "drips/min turning") == "sound"
    assert find(own, "shaft_packing", 0, "drips/min turning") == "sound"
    assert find(own, "shaft_packing", 1, "drips/min at rest") == "failing"


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            {"suspect": 20},
            r"readings\.csv row 2: suspect must rise from suspect to failing to failed, got '20'",
        ),
        ({"compare": "at_most"}, "suspect must fall from suspect to failing to failed, got '5'"),
        ({"compare": "made_on"}, "suspect must be empty where the reading is a year, got '5'"),
        (
            {"suspect": "", "failing": "", "failed": ""},
            "must have a threshold for suspect, failing or failed",
        ),
        ({"compare": "about"}, "compare must be one of at_least, at_most, made_on, got 'about'"),
        ({"path_high": ""}, "path_low must come with path_high or both be empty, got '2'"),
        ({"path_low": 20}, r"path_low must not be above path_high \(15\), got '20'"),
        ({"item_class": "shaft_paking"}, r"known item_class \(nearest: shaft_packing\)"),
        ({"reading_unit": ""}, "reading_unit must not be empty"),
        ({"failing": "many"}, "failing must be a number from 0 up, got 'many'"),
    ],
)
def test_a_bad_reading_row_is_refused(overlay, row: dict[str, object], message: str) -> None:
    with pytest.raises(TableError, match=message):
        load_trade(overlay("readings", row))
