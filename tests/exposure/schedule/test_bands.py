"""Bands are nested, tell nothing from not said, and can be read."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.exposure.schedule.bands import (
    BLANK,
    LEVELS,
    TURNS,
    ByCount,
    ByDay,
    ByRatio,
    ByWidth,
    band,
    band_words,
    coarser,
)

SCALES = st.one_of(
    st.builds(ByRatio, st.sampled_from([2.0, 4.0, 8.0, 12.0]), st.integers(0, TURNS - 1)),
    st.builds(ByWidth, st.sampled_from([1.0, 15.0, 0.5]), st.integers(0, TURNS - 1)),
)
NUMBERS = st.one_of(st.just(np.nan), st.just(0.0), st.floats(0, 1e9))


@given(
    st.lists(NUMBERS, min_size=1, max_size=20), SCALES, st.integers(0, LEVELS - 1), st.integers(0, LEVELS - 1)
)
def test_a_group_of_one_level_lies_whole_in_one_of_a_later(values, scale, level, other):
    first, later = sorted((level, other))
    numbers = np.array(values)
    fine, coarse = band(numbers, scale, first), band(numbers, scale, later)
    for each in np.unique(fine):
        assert len(np.unique(coarse[fine == each])) == 1
    np.testing.assert_array_equal(coarser(fine, scale, (first, later)), coarse)


@given(st.lists(st.floats(-1e6, 1e9), min_size=1), SCALES)
def test_level_0_is_the_number_itself(values, scale):
    np.testing.assert_array_equal(band(np.array(values), scale, 0), values)


@given(st.floats(1e-6, 1e9), st.integers(0, LEVELS - 1))
def test_nothing_not_said_and_something_stay_apart_at_every_level(value, level):
    three = band(np.array([np.nan, 0.0, value]), ByRatio(12.0), level)
    assert len(set(three)) == 3
    assert three[0] == BLANK
    assert list(band_words(three, ByRatio(12.0), level))[:2] == ["not said", "0"]


@given(st.floats(0.01, 1e9), SCALES, st.integers(1, LEVELS - 1))
def test_a_number_lies_in_its_band(value, scale, level):
    (each,) = band(np.array([value]), scale, level)
    (beside,) = band(np.array([value * 0.999999]), scale, level)
    assert beside <= each


@pytest.mark.parametrize(
    ("value", "scale", "level", "words"),
    [
        (2005.0, ByCount(1.0), 0, "2005"),
        (2005.0, ByCount(1.0), 1, "2005"),
        (2005.0, ByCount(1.0), 2 + TURNS, "2004 to 2007"),
        (1.0, ByCount(1.0), 1, "1"),
        (1234567.5, ByRatio(12.0), 0, "1,234,567.5"),
        (40000.0, ByRatio(1.0), 1, "32,768 to 65,536"),
        (7.25, ByRatio(8.0), 0, "7.25"),
        (7.25, ByRatio(8.0), 1, "6.73 to 7.34"),
        (20605.0, ByDay(15.0), 0, "2026-06-01"),
        (20605.0, ByDay(15.0), 1, "2026-05-22 to 2026-06-05"),
        (-0.0, ByWidth(1.0), 0, "0"),
    ],
)
def test_a_band_reads_as_people_write_it(value, scale, level, words):
    assert list(band_words(band(np.array([value]), scale, level), scale, level)) == [words]
