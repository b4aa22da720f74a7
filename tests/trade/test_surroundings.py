"""How surroundings age a part: the reference is exactly 1, the rest follows heat, salt, sun and hours."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError, TableError
from riskmodel.trade import Surrounding, Trade, load_trade, surrounding_rate, surroundings_of, usual_value
from riskmodel.trade.surroundings import REFERENCE_LEVELS

FACTORS = {"water", "climate", "kept", "duty"}
LEVELS = {
    "water": ("salt", "brackish", "fresh"),
    "climate": ("cold", "temperate", "hot", "tropical"),
    "kept": ("afloat", "mooring", "trailer", "rack", "ashore"),
}
KINDS = tuple(load_trade().propulsions)
CLASSES = tuple(load_trade().classes)
REFERENCE = {"water": "salt", "climate": "temperate", "kept": "afloat"}
OWN = {"source": "our workshop book", "status": "judgement"}
# published: the rule of two, and nitrile's activation energy of 22 kcal/mol (Sandia, 1993, abstract)
TEN_DEGREES = (1.8, 3.3)


def rate(trade: Trade, name: str, factor: str, **vessel: object) -> tuple[float, float]:
    return surrounding_rate(trade, trade.classes[name], vessel)[factor]


def groups(trade: Trade) -> dict[tuple[str, str, str], list[Surrounding]]:
    grouped: dict[tuple[str, str, str], list[Surrounding]] = {}
    for row in trade.surroundings:
        grouped.setdefault((row.factor, row.mechanism, row.item_class), []).append(row)
    return grouped


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", CLASSES)
def test_the_reference_boat_ages_as_the_trade_presumes(trade: Trade, name: str, kind: str) -> None:
    vessel = REFERENCE | {"propulsion": kind, "hours_per_year": usual_value(trade, "hours_per_year", kind)}
    rates = surrounding_rate(trade, trade.classes[name], vessel)
    assert rates == dict.fromkeys(FACTORS, (1.0, 1.0))


@pytest.mark.parametrize("blank", [None, math.nan, "", pd.NA], ids=["none", "nan", "empty", "na"])
def test_a_boat_of_which_nothing_is_known_ages_as_the_trade_presumes(trade: Trade, blank: object) -> None:
    columns = ("water", "climate", "kept", "hours_per_year", "propulsion")
    for vessel in ({}, dict.fromkeys(columns, blank), {"hours_per_year": 500, "propulsion": blank}):
        rates = surrounding_rate(trade, trade.classes["rudder_gland"], vessel)
        assert rates == dict.fromkeys(FACTORS, (1.0, 1.0))


def test_every_group_holds_every_level_once_and_its_reference_at_one(trade: Trade) -> None:
    for (factor, *_), rows in groups(trade).items():
        if factor == "duty":
            continue
        assert tuple(row.level for row in rows) == LEVELS[factor]
        (reference,) = [row for row in rows if row.level == REFERENCE_LEVELS[factor]]
        assert (reference.rate_low, reference.rate_high) == (1.0, 1.0)


def test_every_multiple_of_the_usual_hours_falls_in_exactly_one_band(trade: Trade) -> None:
    for (factor, *_), rows in groups(trade).items():
        if factor == "duty":
            assert rows[0].at_least is None
            assert rows[-1].below is None
            assert [row.below for row in rows[:-1]] == [row.at_least for row in rows[1:]]


def test_surroundings_read_columns_that_have_defaults(trade: Trade) -> None:
    assert {row.column for row in trade.surroundings} <= {row.column for row in trade.defaults}


def test_no_surrounding_stops_the_clock_or_burns_a_part_up(trade: Trade) -> None:
    for row in trade.surroundings:
        assert 0.0 < row.rate_low <= row.rate_high <= 5.0, row


# Heat


@pytest.mark.parametrize(("climate", "degrees"), [("cold", -5.0), ("hot", 7.0), ("tropical", 12.0)])
def test_rubber_ages_with_heat_at_the_published_rate(trade: Trade, climate: str, degrees: float) -> None:
    # published rate for 10 degC; the degrees are judgement
    expected = sorted(base ** (degrees / 10.0) for base in TEN_DEGREES)
    found = rate(trade, "bellows_drive", "climate", climate=climate)
    assert found == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize("name", CLASSES)
def test_a_warmer_climate_never_slows_a_part_below_temperate(trade: Trade, name: str) -> None:
    rates = [rate(trade, name, "climate", climate=word) for word in ("temperate", "hot", "tropical")]
    assert [low for low, _ in rates] == sorted(low for low, _ in rates)
    assert [high for _, high in rates] == sorted(high for _, high in rates)


def test_heat_matters_most_to_rubber(trade: Trade) -> None:
    rubber = rate(trade, "raw_water_hose", "climate", climate="tropical")
    for name in ("deck_bedding", "through_hull_seacock", "bilge_pump", "rode_rope"):
        assert rate(trade, name, "climate", climate="tropical")[1] < rubber[1]


def test_frost_does_not_spare_a_strainer(trade: Trade) -> None:
    assert rate(trade, "sea_strainer", "climate", climate="cold")[0] >= 1.0
    assert rate(trade, "through_hull_seacock", "climate", climate="cold")[1] < 1.0


# Water and keeping


@pytest.mark.parametrize("name", ["through_hull_seacock", "exhaust_riser", "rode_chain", "sacrificial_anode"])
def test_fresh_water_wastes_metal_slower_than_brackish_and_brackish_no_faster_than_salt(
    trade: Trade, name: str
) -> None:
    fresh, brackish = (rate(trade, name, "water", water=word) for word in ("fresh", "brackish"))
    assert fresh[1] <= brackish[0] <= brackish[1] <= 1.0


def test_an_anode_ashore_hardly_wastes(trade: Trade) -> None:
    assert rate(trade, "sacrificial_anode", "kept", kept="ashore")[1] <= 0.1


@pytest.mark.parametrize("name", CLASSES)
def test_a_rack_ages_nothing_faster_than_a_trailer(trade: Trade, name: str) -> None:
    rack, trailer = (rate(trade, name, "kept", kept=word) for word in ("rack", "trailer"))
    assert rack[0] <= trailer[0]
    assert rack[1] <= trailer[1]


def test_the_sun_on_a_trailer_reaches_the_deck(trade: Trade) -> None:
    assert rate(trade, "deck_bedding", "kept", kept="trailer")[0] >= 1.0
    assert rate(trade, "deck_bedding", "kept", kept="rack")[1] < 1.0


# Duty


@given(kind=st.sampled_from(KINDS), hours=st.floats(0.0, 3000.0), more=st.floats(0.0, 3000.0))
def test_more_hours_never_slow_what_rubs(kind: str, hours: float, more: float) -> None:
    trade = load_trade()
    short, long = (
        rate(trade, "rudder_gland", "duty", propulsion=kind, hours_per_year=run)
        for run in (hours, hours + more)
    )
    assert short[0] <= long[0]
    assert short[1] <= long[1]


def test_the_same_hours_are_much_for_one_kind_and_usual_for_another(trade: Trade) -> None:
    run = {"hours_per_year": 100}
    assert rate(trade, "rudder_gland", "duty", propulsion="inboard_shaft", **run) == (1.0, 1.0)
    assert rate(trade, "rudder_gland", "duty", propulsion="sail_outboard", **run)[0] > 1.0


def test_a_class_that_counts_hours_is_not_charged_for_them_twice(trade: Trade) -> None:
    run = {"hours_per_year": 900, "propulsion": "inboard_shaft"}
    assert rate(trade, "raw_water_impeller", "duty", **run) == (1.0, 1.0)
    assert rate(trade, "face_shaft_seal", "duty", **run)[0] > 1.0


def test_hours_do_not_age_rubber_or_metal(trade: Trade) -> None:
    for name in ("raw_water_hose", "through_hull_seacock", "deck_bedding"):
        assert rate(trade, name, "duty", hours_per_year=900, propulsion="inboard_shaft") == (1.0, 1.0)


@pytest.mark.parametrize(
    "hours", [300, np.float64(300), np.int64(300), "300"], ids=["int", "f64", "i64", "text"]
)
def test_hours_are_read_from_any_number(trade: Trade, hours: object) -> None:
    found = rate(trade, "rudder_gland", "duty", hours_per_year=hours, propulsion="inboard_shaft")
    assert found == (2.0, 4.5)


# Rows and overlays


def test_a_class_takes_its_own_rows_for_a_factor_and_its_mechanisms_for_the_rest(trade: Trade) -> None:
    rows = surroundings_of(trade, trade.classes["bellows_drive"])
    assert {row.item_class for row in rows if row.factor == "kept"} == {"bellows_drive"}
    assert {row.item_class for row in rows if row.factor == "climate"} == {"any"}
    assert {row.mechanism for row in rows} == {"elastomer_ageing"}


def test_factors_of_a_class_are_those_of_the_rows_that_speak_of_it(trade: Trade) -> None:
    vessel = {"water": "fresh", "climate": "hot", "kept": "trailer"}
    item = trade.classes["rode_chain"]
    rates = surrounding_rate(trade, item, vessel)
    rows = [row for row in surroundings_of(trade, item) if row.level == vessel.get(row.column)]
    assert rates == {"duty": (1.0, 1.0)} | {row.factor: (row.rate_low, row.rate_high) for row in rows}


@pytest.mark.parametrize("factor", sorted(FACTORS))
def test_a_surrounding_without_a_source_is_judgement(trade: Trade, factor: str) -> None:
    assert {row.status for row in trade.surroundings if row.factor == factor} == {"judgement"}


def test_an_overlay_group_replaces_ours_as_a_whole(trade: Trade, overlay) -> None:
    row = {"item_class": "hose_clamps", "level": "fresh", "rate_low": 0.4, "rate_high": 0.5, **OWN}
    own = load_trade(overlay("surroundings", row))
    assert rate(own, "hose_clamps", "water", water="fresh") == (0.4, 0.5)
    assert rate(own, "hose_clamps", "water", water="brackish") == (1.0, 1.0)
    assert rate(own, "rode_chain", "water", water="fresh") == rate(
        trade, "rode_chain", "water", water="fresh"
    )


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            {"rate_low": 0.9},
            r"surroundings\.csv row 2: rate_low must be 1 to 1 at what the trade interval presumes",
        ),
        ({"rate_low": 1.5}, r"rate_low must not be above rate_high \(1\), got '1\.5'"),
        ({"level": "fresh", "rate_low": 0}, "rate_low must be a number above 0, got '0'"),
        ({"mechanism": "rot"}, "must name a known mechanism, got 'rot'"),
        ({"item_class": "hose_clamp"}, r"known item_class \(nearest: hose_clamps\)"),
        ({"item_class": "bilge_pump"}, r"mechanism must be that of bilge_pump \(random\), got 'corrosion'"),
        ({"level": ""}, r"level must have either a level or a band"),
        ({"at_least": 2}, r"level must have either a level or a band"),
        ({"level": "", "at_least": 2, "below": 1}, r"at_least must not be above below"),
        (
            {"column": "mood", "level": "", "at_least": 2},
            "column must have a vessels default above 0, of which a band is a multiple, got 'mood'",
        ),
        (
            {"column": "climate", "level": "", "at_least": 2},
            "column must have a vessels default above 0, of which a band is a multiple, got 'climate'",
        ),
        (
            {"column": "hours_per_year", "level": "", "below": 3, "rate_high": 2},
            "rate_low must be 1 to 1 at what the trade interval presumes",
        ),
    ],
)
def test_a_bad_surrounding_is_refused(overlay, row: dict[str, object], message: str) -> None:
    with pytest.raises(TableError, match=message):
        load_trade(overlay("surroundings", row))


def test_a_word_where_hours_belong_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match="hours_per_year must be a number, got 'often'"):
        rate(trade, "rudder_gland", "duty", hours_per_year="often", propulsion="sail_shaft")


def test_a_kind_nobody_knows_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match=r"propulsion must be one of outboard, .*, got 'oars'"):
        rate(trade, "rudder_gland", "duty", hours_per_year=20, propulsion="oars")


def test_the_usual_value_of_a_column_without_a_default_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match="column must be a vessels column with a default, got 'mood'"):
        usual_value(trade, "mood", "outboard")


def test_a_default_for_every_kind_serves_each(trade: Trade) -> None:
    assert {usual_value(trade, "checked_every_days", kind) for kind in KINDS} == {7.0}
