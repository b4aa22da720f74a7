"""Every physical column of every table can be given in US customary units."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from riskmodel.fleet.schema import TABLES, read_schema
from riskmodel.units import OWN_SUFFIXES, US_SUFFIXES, conversion_factor, split_suffix

# The sizes of both kinds of units as scipy has them, and as the international yard and pound agreement of 1959
# and the US liquid gallon of 231 cubic inches define them (published definitions, from memory).
INCH = Fraction("0.0254")
FOOT, GALLON = 12 * INCH, 231 * INCH**3
SCIPY = {
    "mm": constants.milli,
    "m": 1.0,
    "cm2": constants.centi**2,
    "m3": 1.0,
    "lpm": constants.liter / constants.minute,
    "in": constants.inch,
    "ft": constants.foot,
    "sqin": constants.inch**2,
    "sqft": constants.foot**2,
    "cuft": constants.foot**3,
    "gal": constants.gallon,
    "gph": constants.gallon / constants.hour,
    "gpm": constants.gallon / constants.minute,
    "cfm": constants.foot**3 / constants.minute,
}
DEFINED = {
    "mm": Fraction(1, 1000),
    "m": Fraction(1),
    "cm2": Fraction(1, 10000),
    "m3": Fraction(1),
    "lpm": Fraction(1, 60000),
    "in": INCH,
    "ft": FOOT,
    "sqin": INCH**2,
    "sqft": FOOT**2,
    "cuft": FOOT**3,
    "gal": GALLON,
    "gph": GALLON / 3600,
    "gpm": GALLON / 60,
    "cfm": FOOT**3 / 60,
}
ROWS = {
    "vessels": {"vessel_id": "A", "propulsion": "outboard", "value": "9000"},
    "items": {"item_id": "I", "vessel_id": "Wren", "item_class": "bilge_pump"},
}
PHYSICAL = [
    (table, field.name)
    for table in TABLES
    for field in read_schema(table).fields
    if split_suffix(field.name)[1] in OWN_SUFFIXES
]
CUSTOMARY = [
    (table, column, f"{split_suffix(column)[0]}_{us}")
    for table, column in PHYSICAL
    for us in US_SUFFIXES
    if conversion_factor(us, split_suffix(column)[1]) is not None
]


def table_of(table, **columns):
    row = ROWS[table] | columns
    return {table: f"{','.join(row)}\n{','.join(row.values())}\n"}


def test_the_physical_columns_are_those_of_the_contract():
    assert {column for _, column in PHYSICAL} == {
        *(
            "length_m",
            "flooding_volume_m3",
            "cabin_m3",
            "engine_space_m3",
            "vent_area_cm2",
            "blower_flow_lpm",
        ),
        *("bore_mm", "depth_m", "rated_flow_lpm", "static_head_m", "shut_off_head_m", "hose_length_m"),
        *("chain_mm", "rope_mm"),
    }


@pytest.mark.parametrize(("table", "column"), PHYSICAL)
def test_every_physical_column_has_a_customary_unit_and_says_so(table, column):
    written = [us for place, own, us in CUSTOMARY if (place, own) == (table, column)]
    assert written
    field = next(field for field in read_schema(table).fields if field.name == column)
    assert any(f"{us} " in field.description for us in written)


@pytest.mark.parametrize(("table", "column", "written"), CUSTOMARY)
def test_a_customary_column_is_converted_exactly(load, table, column, written):
    own, us = split_suffix(column)[1], split_suffix(written)[1]
    fleet = load(**table_of(table, **{written: "1"}))
    value = getattr(fleet, table)[column][0]
    assert value == float(DEFINED[us] / DEFINED[own])
    assert value == pytest.approx(SCIPY[us] / SCIPY[own], rel=1e-15)
    assert fleet.given[table][column][0]
    assert any(f"{written} was converted to {column}" in note for note in fleet.notes)


@given(value=st.decimals("0.001", "1000", places=3), place=st.sampled_from(CUSTOMARY))
def test_any_size_is_converted_to_the_last_digit_but_one(value, place):
    _, column, written = place
    own, us = split_suffix(column)[1], split_suffix(written)[1]
    exact = Fraction(value) * DEFINED[us] / DEFINED[own]
    assert float(value) * conversion_factor(us, own) == pytest.approx(float(exact), rel=4e-16)


@pytest.mark.parametrize(("table", "column", "written"), CUSTOMARY)
def test_both_units_of_one_thing_are_refused(problems, table, column, written):
    assert problems(**table_of(table, **{column: "1", written: "1"})) == [
        f"{table}.csv row 1: {written} must not stand beside {column}, which measures the same, got {written}"
    ]


@pytest.mark.parametrize(("table", "column", "written"), CUSTOMARY)
def test_a_customary_size_keeps_the_limits_of_its_column(problems, table, column, written):
    field = next(field for field in read_schema(table).fields if field.name == column)
    rule = "must not be below 0" if field.minimum == 0 else "must be above 0"
    assert problems(**table_of(table, **{written: "-1"})) == [f"{table}.csv row 2: {written} {rule}, got -1"]


@pytest.mark.parametrize(
    ("table", "column", "written"),
    [
        ("items", "depth_m", "depth_ft"),
        ("items", "static_head_m", "static_head_ft"),
        ("items", "hose_length_m", "hose_length_ft"),
        ("vessels", "blower_flow_lpm", "blower_flow_cfm"),
        ("vessels", "vent_area_cm2", "vent_area_sqin"),
        ("vessels", "cabin_m3", "cabin_cuft"),
    ],
)
def test_nought_is_a_size_where_it_has_a_meaning(load, table, column, written):
    assert getattr(load(**table_of(table, **{column: "0"})), table)[column].tolist() == [0]
    assert getattr(load(**table_of(table, **{written: "0"})), table)[column].tolist() == [0]


@pytest.mark.parametrize(
    ("table", "column", "value", "rule"),
    [
        ("vessels", "hulls", "4", "must not be above 3"),
        ("vessels", "hulls", "0", "must not be below 1"),
        ("vessels", "hulls", "1.5", "must be a whole number"),
        ("vessels", "compartments", "0", "must not be below 1"),
        ("vessels", "people_aboard", "-1", "must not be below 0"),
        ("vessels", "engine_space_m3", "0", "must be above 0"),
        ("vessels", "covered", "half", "must be yes or no"),
        ("items", "bends", "-1", "must not be below 0"),
        ("items", "bends", "2.5", "must be a whole number"),
        ("items", "amps", "0", "must be above 0"),
        ("items", "shut_off_head_m", "0", "must be above 0"),
        ("items", "chain_mm", "0", "must be above 0"),
        ("items", "check_valve", "2", "must be yes or no"),
        ("items", "open_to_sea", "half", "must be yes or no"),
    ],
)
def test_a_size_that_cannot_be_is_refused(problems, table, column, value, rule):
    assert problems(**table_of(table, **{column: value})) == [
        f"{table}.csv row 2: {column} {rule}, got {value}"
    ]


def test_areas_are_not_read_in_units_that_are_only_like_ours(problems):
    assert problems(**table_of("vessels", vent_area_mm2="600")) == [
        "vessels.csv row 1: vent_area_mm2 must be in a unit that is read: "
        "vent_area_cm2 or vent_area_sqin or vent_area_sqft, got vent_area_mm2"
    ]


@pytest.mark.parametrize(("word", "answer"), [("yes", "yes"), ("True", "yes"), ("0", "no"), ("", "")])
def test_whether_a_part_is_left_open_to_the_sea_may_be_unknown(load, word, answer):
    fleet = load(**table_of("items", open_to_sea=word))
    assert fleet.items["open_to_sea"].tolist() == [answer]
    assert "open_to_sea" not in set(fleet.defaulted["column"])
