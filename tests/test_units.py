"""The units in column names and their conversion."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.units import OTHER_SUFFIXES, OWN_SUFFIXES, US_SUFFIXES, conversion_factor, split_suffix

# The international yard and pound agreement of 1959 and the US liquid gallon of 231 cubic inches: published
# definitions, written from memory.
DEFINITIONS = [
    ("in", "mm", 25.4),
    ("in", "m", 0.0254),
    ("ft", "m", 0.3048),
    ("ft", "mm", 304.8),
    ("cuft", "m3", 0.3048**3),
    ("sqin", "cm2", 2.54**2),
    ("sqft", "cm2", 30.48**2),
    ("cfm", "lpm", 3.048**3),
    ("gal", "m3", 231 * 0.0254**3),
    ("gpm", "lpm", 3.785411784),
    ("gph", "lpm", 3.785411784 / 60),
    ("lb", "kg", 0.45359237),
    ("hp", "kw", 0.45359237 * 9.80665 * 0.3048 * 550 / 1000),
]


@pytest.mark.parametrize(("us", "own", "factor"), DEFINITIONS)
def test_factor_agrees_with_the_definition_of_the_unit(us, own, factor):
    assert conversion_factor(us, own) == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    ("us", "own"), [("in", "lpm"), ("gph", "m3"), ("lb", "m"), ("hp", "kg"), ("cuft", "lpm"), ("in", "cm2")]
)
def test_units_of_different_things_have_no_factor(us, own):
    assert conversion_factor(us, own) is None


def test_unknown_units_have_no_factor():
    assert conversion_factor("stone", "kg") is None
    assert conversion_factor("in", "") is None


@pytest.mark.parametrize("us", US_SUFFIXES)
def test_every_customary_unit_converts_to_some_unit_of_ours(us):
    assert any(conversion_factor(us, own) is not None for own in OWN_SUFFIXES)


@given(
    value=st.floats(min_value=1e-6, max_value=1e9),
    us=st.sampled_from(US_SUFFIXES),
    own=st.sampled_from(OWN_SUFFIXES),
)
def test_converting_there_and_back_gives_the_value(value, us, own):
    there, back = conversion_factor(us, own), conversion_factor(own, us)
    if there is None:
        assert back is None
    else:
        assert math.isclose(value * there * back, value, rel_tol=1e-12)


def test_sixty_gallons_an_hour_are_a_gallon_a_minute():
    assert 60 * conversion_factor("gph", "lpm") == pytest.approx(conversion_factor("gpm", "lpm"), rel=1e-15)


@pytest.mark.parametrize(
    ("column", "parts"),
    [
        ("bore_in", ("bore", "in")),
        ("rated_flow_gph", ("rated_flow", "gph")),
        ("value", ("value", "")),
        ("_in", ("_in", "")),
    ],
)
def test_column_name_splits_into_what_is_measured_and_its_unit(column, parts):
    assert split_suffix(column) == parts


def test_a_suffix_has_one_meaning():
    suffixes = [*OWN_SUFFIXES, *US_SUFFIXES, *OTHER_SUFFIXES]
    assert len(suffixes) == len(set(suffixes))
