"""What a boat usually carries."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.trade import OutfitRow, Trade, load_trade, typical_outfit

KINDS = tuple(load_trade().propulsions)


@given(
    kind=st.sampled_from(KINDS),
    length=st.floats(min_value=2.0, max_value=60.0),
    built=st.integers(min_value=1900, max_value=2030),
)
def test_an_outfit_holds_classes_of_that_kind_in_positive_counts(
    kind: str, length: float, built: int
) -> None:
    trade = load_trade()
    outfit = typical_outfit(trade, kind, length, built)
    assert all(0.0 < count < 200.0 for count in outfit.values())
    assert all(kind in trade.classes[name].propulsion for name in outfit)


@given(kind=st.sampled_from(KINDS), length=st.floats(min_value=2.0, max_value=60.0))
def test_every_class_of_a_kind_is_carried_at_every_length(kind: str, length: float) -> None:
    trade = load_trade()
    wanted = {name for name, item in trade.classes.items() if kind in item.propulsion}
    assert set(typical_outfit(trade, kind, length, 2000)) == wanted


@given(
    kind=st.sampled_from(KINDS),
    length=st.floats(min_value=2.0, max_value=40.0),
    longer=st.floats(min_value=0.0, max_value=20.0),
)
def test_a_longer_boat_never_carries_less_plumbing(kind: str, length: float, longer: float) -> None:
    trade = load_trade()
    small, large = (typical_outfit(trade, kind, metres, 2000) for metres in (length, length + longer))
    # a large inboard motor boat mostly has no garboard plug
    assert all(large[name] >= count for name, count in small.items() if name != "drain_plug")


def test_a_bound_belongs_to_the_longer_boat(trade: Trade) -> None:
    assert typical_outfit(trade, "sterndrive", 8.999, 2000)["bellows_drive"] == 1.0
    assert typical_outfit(trade, "sterndrive", 9.0, 2000)["bellows_drive"] == 1.8


def test_face_seals_take_the_place_of_packing_as_boats_get_newer(trade: Trade) -> None:
    old, middle, new = (typical_outfit(trade, "sail_shaft", 10.5, year) for year in (1985, 2000, 2015))
    assert old["shaft_packing"] > middle["shaft_packing"] > new["shaft_packing"]
    assert old["face_shaft_seal"] < middle["face_shaft_seal"] < new["face_shaft_seal"]
    for outfit in (old, middle, new):
        assert outfit["shaft_packing"] + outfit["face_shaft_seal"] == pytest.approx(1.0)


def test_without_a_build_year_the_periods_are_averaged(trade: Trade) -> None:
    unknown = typical_outfit(trade, "sail_shaft", 10.5, None)
    known = [typical_outfit(trade, "sail_shaft", 10.5, year) for year in (1985, 2000, 2015)]
    assert unknown["shaft_packing"] == pytest.approx(sum(outfit["shaft_packing"] for outfit in known) / 3)
    assert unknown["hose_clamps"] == known[0]["hose_clamps"]


@pytest.mark.parametrize(
    ("kind", "has", "lacks"),
    [
        ("outboard", "transom_boot", "shaft_packing"),
        ("sterndrive", "bellows_drive", "shaft_packing"),
        ("inboard_shaft", "shaft_packing", "bellows_drive"),
        ("inboard_jet", "engine_blower", "saildrive_diaphragm"),
        ("sail_shaft", "shaft_log_hose", "saildrive_diaphragm"),
        ("sail_saildrive", "saildrive_diaphragm", "shaft_packing"),
        ("sail_outboard", "rudder_gland", "wet_exhaust_hose"),
    ],
)
def test_each_kind_carries_what_makes_it_that_kind(trade: Trade, kind: str, has: str, lacks: str) -> None:
    outfit = typical_outfit(trade, kind, 9.0, 2000)
    assert has in outfit
    assert lacks not in outfit


def test_no_two_rows_of_one_class_cover_the_same_boat(trade: Trade) -> None:
    for row in trade.outfits:
        for other in trade.outfits:
            same = row.propulsion == other.propulsion and row.item_class == other.item_class
            assert not (same and row is not other and overlap(row, other)), (row, other)


def overlap(row: OutfitRow, other: OutfitRow) -> bool:
    lengths = max(row.length_from_m or 0, other.length_from_m or 0) < min(
        row.length_below_m or math.inf, other.length_below_m or math.inf
    )
    years = max(row.built_from or 0, other.built_from or 0) < min(
        row.built_before or math.inf, other.built_before or math.inf
    )
    return lengths and years


def test_a_kind_of_boat_nobody_knows_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match=r"propulsion must be one of outboard, .*, got 'oars'"):
        typical_outfit(trade, "oars", 5.0, 2000)


@pytest.mark.parametrize("length", [0.0, -3.0, math.nan, math.inf])
def test_a_length_that_is_none_is_refused(trade: Trade, length: float) -> None:
    with pytest.raises(ParameterError, match="length_m must be a length above 0 m"):
        typical_outfit(trade, "outboard", length, 2000)


def test_a_build_year_that_is_no_number_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match="built_year must be a year or None, got nan"):
        typical_outfit(trade, "outboard", 5.0, math.nan)
