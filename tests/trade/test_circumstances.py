"""How circumstances raise and lower the chance of harm."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.trade import Trade, circumstance_factor, load_trade

ENDS = tuple(load_trade().end_states)
REFERENCE = {
    "checked_every_days": 7,
    "kept": "afloat",
    "alarm_telemetry": "no",
    "shore_power": "yes",
    "climate": "temperate",
    "core": "solid",
}
DAYS = st.floats(min_value=0.01, max_value=2000.0)


@pytest.mark.parametrize("end", ENDS)
def test_the_reference_boat_has_the_factor_one(trade: Trade, end: str) -> None:
    assert circumstance_factor(trade, end, REFERENCE) == (1.0, 1.0)


@pytest.mark.parametrize("end", ENDS)
def test_a_boat_of_which_nothing_is_known_counts_as_the_reference(trade: Trade, end: str) -> None:
    assert circumstance_factor(trade, end, {}) == (1.0, 1.0)


@given(end=st.sampled_from(ENDS), days=DAYS, more=st.floats(min_value=0.0, max_value=2000.0))
def test_longer_unattended_never_lowers_a_factor(end: str, days: float, more: float) -> None:
    trade = load_trade()
    short = circumstance_factor(trade, end, {**REFERENCE, "checked_every_days": days})
    long = circumstance_factor(trade, end, {**REFERENCE, "checked_every_days": days + more})
    assert short[0] <= long[0]
    assert short[1] <= long[1]


@given(
    end=st.sampled_from(ENDS),
    days=DAYS,
    kept=st.sampled_from(["afloat", "mooring", "trailer", "rack", "ashore"]),
)
def test_an_alarm_or_shore_power_never_raises_a_factor(end: str, days: float, kept: str) -> None:
    trade = load_trade()
    base = {**REFERENCE, "checked_every_days": days, "kept": kept}
    for column in ("alarm_telemetry", "shore_power"):
        without = circumstance_factor(trade, end, {**base, column: "no"})
        with_it = circumstance_factor(trade, end, {**base, column: "yes"})
        assert with_it[0] <= without[0]
        assert with_it[1] <= without[1]


@given(end=st.sampled_from(ENDS), days=DAYS)
def test_a_factor_is_a_rising_range_above_zero(end: str, days: float) -> None:
    low, high = circumstance_factor(
        load_trade(), end, {**REFERENCE, "checked_every_days": days, "kept": "mooring"}
    )
    assert 0.0 < low <= high < math.inf


def test_every_number_of_days_falls_in_exactly_one_band(trade: Trade) -> None:
    for end in ("sinking_unattended", "partial_flooding"):
        bands = [
            row for row in trade.circumstances if (row.end_state, row.column) == (end, "checked_every_days")
        ]
        assert bands[0].at_least is None
        assert bands[-1].below is None
        assert [row.below for row in bands[:-1]] == [row.at_least for row in bands[1:]]


def test_a_boat_on_its_trailer_hardly_sinks_at_its_berth(trade: Trade) -> None:
    assert circumstance_factor(trade, "sinking_unattended", {**REFERENCE, "kept": "trailer"})[1] <= 0.05


def test_a_mooring_is_no_safer_than_a_berth(trade: Trade) -> None:
    assert circumstance_factor(trade, "sinking_unattended", {**REFERENCE, "kept": "mooring"})[0] >= 1.0


def test_wood_in_the_deck_makes_water_costly(trade: Trade) -> None:
    factors = [
        circumstance_factor(trade, "structural_damage", {"core": core})
        for core in ("solid", "foam", "plywood", "balsa")
    ]
    assert factors == sorted(factors)
    assert factors[-1][0] > 1.0


def test_frost_in_a_wet_core_makes_it_worse(trade: Trade) -> None:
    assert circumstance_factor(trade, "structural_damage", {"climate": "cold"})[0] > 1.0


def test_circumstances_multiply(trade: Trade) -> None:
    both = circumstance_factor(trade, "sinking_unattended", {"kept": "mooring", "shore_power": "no"})
    one = circumstance_factor(trade, "sinking_unattended", {"kept": "mooring"})
    other = circumstance_factor(trade, "sinking_unattended", {"shore_power": "no"})
    assert both == pytest.approx((one[0] * other[0], one[1] * other[1]))


@pytest.mark.parametrize("yes", [True, np.True_, "yes", "Yes"], ids=["bool", "numpy", "word", "capital"])
def test_a_yes_is_a_yes_however_a_frame_holds_it(trade: Trade, yes: object) -> None:
    assert circumstance_factor(trade, "sinking_unattended", {"alarm_telemetry": yes}) == (0.3, 0.7)


@pytest.mark.parametrize(
    "blank", [None, math.nan, "", pd.NA, pd.NaT], ids=["none", "nan", "empty", "na", "nat"]
)
def test_a_blank_counts_as_the_reference(trade: Trade, blank: object) -> None:
    vessel = {"checked_every_days": blank, "alarm_telemetry": blank, "kept": blank}
    assert circumstance_factor(trade, "sinking_unattended", vessel) == (1.0, 1.0)


@pytest.mark.parametrize(
    "days", [14, 14.0, np.float64(14), np.int64(14), "14"], ids=["int", "float", "f64", "i64", "text"]
)
def test_days_are_read_from_any_number(trade: Trade, days: object) -> None:
    assert circumstance_factor(trade, "sinking_unattended", {"checked_every_days": days}) == (1.3, 2.0)


def test_a_row_of_a_frame_will_do(trade: Trade) -> None:
    frame = pd.DataFrame({"checked_every_days": [90.0], "kept": ["afloat"], "alarm_telemetry": [False]})
    vessel = frame.to_dict("records")[0]
    assert circumstance_factor(trade, "sinking_unattended", vessel) == (2.5, 5.0)


def test_an_end_state_nobody_knows_is_refused(trade: Trade) -> None:
    with pytest.raises(
        ParameterError, match=r"end_state must be one of sinking_unattended, .*, got 'mutiny'"
    ):
        circumstance_factor(trade, "mutiny", REFERENCE)


def test_a_word_where_days_belong_is_refused(trade: Trade) -> None:
    with pytest.raises(ParameterError, match="checked_every_days must be a number, got 'often'"):
        circumstance_factor(trade, "sinking_unattended", {"checked_every_days": "often"})
