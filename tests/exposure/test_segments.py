"""Segments of a book add up to it, whatever they go by."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.segments import AGE, AGE_BANDS, UNKNOWN, WEATHER, segment_words, segments

BYS = ("propulsion", AGE, "water", "home_port", "kept", "shore_power", "value", "end_state", "item_class")


@pytest.fixture(scope="module")
def exposed(assessed, two_boats):
    boats = [
        boat | extra
        for boat, extra in zip(two_boats["boats"], ({"home_port": "Quay"}, {"built_year": 1979}), strict=True)
    ]
    return exposure_of(
        assessed(**two_boats | {"boats": boats}, until=date(2027, 6, 1)), Policy(deductible=300.0)
    )


@pytest.mark.parametrize("by", BYS)
def test_segments_add_up_to_the_book(exposed, by):
    frame = segments(exposed, by)
    assert frame["before"].sum() == pytest.approx(exposed.before.total.mean, rel=1e-9)
    assert frame["after"].sum() == pytest.approx(exposed.after.total.mean, rel=1e-9)
    assert frame["worst"].sum() == pytest.approx(exposed.after.total.tail_mean(0.99), rel=1e-9)
    assert frame["share"].sum() == pytest.approx(1.0)
    assert frame["worst_share"].sum() == pytest.approx(1.0)


@pytest.mark.parametrize("by", ["propulsion", "kept", "home_port"])
def test_segments_of_boats_share_out_boats_and_value(exposed, by):
    frame = segments(exposed, by)
    assert frame["boats"].sum() == 2
    assert frame["value"].sum() == pytest.approx(100_000)


def test_one_boat_a_segment_is_that_boat(exposed):
    frame = segments(exposed, "vessel_id").set_index("segment")
    np.testing.assert_allclose(frame.loc[["B1", "B2"], "after"], exposed.after.mean.sum(axis=1), rtol=1e-12)
    np.testing.assert_allclose(frame.loc[["B1", "B2"], "worst"], exposed.after.tail.sum(axis=1), rtol=1e-12)


def test_the_dearest_comes_first_and_ages_stay_in_their_order(exposed):
    assert segments(exposed, "item_class")["after"].is_monotonic_decreasing
    assert list(segments(exposed, AGE)["segment"]) == ["20-29 years", "40 years or more"]


def test_what_no_part_brings_about_is_named(exposed):
    frame = segments(exposed, "item_class").set_index("segment")
    assert frame.loc[WEATHER, "before"] == pytest.approx(exposed.result.background["loss"].sum(), rel=2e-2)


def test_classes_share_as_the_ranking_does_before_terms(exposed):
    frame = segments(exposed, "item_class").set_index("segment")
    result = exposed.result
    label = result.trade.classes["bellows_drive"].label
    ranked = result.frame.loc[result.frame["item_class"] == "bellows_drive", "expected_loss"].sum()
    assert frame.loc[label, "before"] == pytest.approx(ranked, rel=1e-2)


@pytest.mark.parametrize(
    ("built", "wanted"),
    [
        (2026, "0-9 years"),
        (2017, "0-9 years"),
        (2016, "10-19 years"),
        (1986, "40 years or more"),
        (np.nan, UNKNOWN),
    ],
)
def test_hulls_fall_in_decades_of_age(built, wanted):
    words = segment_words(pd.DataFrame({"built_year": [float(built)]}), AGE, 2026)
    assert list(words) == [wanted]
    assert AGE_BANDS[0] == 0


def test_blank_cells_are_said_to_be_blank():
    frame = pd.DataFrame({"home_port": ["", "Quay"], "hulls": [np.nan, 2.0], "covered": [True, False]})
    assert list(segment_words(frame, "home_port", 2026)) == [UNKNOWN, "Quay"]
    assert list(segment_words(frame, "hulls", 2026)) == [UNKNOWN, "2"]
    assert list(segment_words(frame, "covered", 2026)) == ["yes", "no"]


def test_an_unknown_column_is_refused(exposed):
    with pytest.raises(ParameterError, match=r"--by must name a column of vessels, or age, .*, got 'colour'"):
        segments(exposed, "colour")
