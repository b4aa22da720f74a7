"""Ages of parts fall into the cells that hold them."""

import numpy as np
import pytest

from riskmodel.exposure.schedule.ages import CELLS, EDGES_YEARS, UNKNOWN, age_days, cells_of_ages
from riskmodel.units import DAYS_PER_YEAR

DAY = np.datetime64("2026-06-01")


def age(first, last):
    days, later = age_days(np.array([[first, last]], dtype="datetime64[D]"), DAY)
    return float(days[0]), bool(later[0])


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        ("2026-05-01", "2026-05-01", 31.0),
        ("2020-01-01", "2020-12-31", (2343 + 1978) / 2),
        ("2026-01-01", "2026-12-31", 151 / 2),
        ("2026-06-01", "2026-06-01", 0.0),
    ],
)
def test_a_part_is_as_old_as_the_middle_of_its_window_up_to_the_day(first, last, days):
    assert age(first, last) == (days, False)


@pytest.mark.parametrize(
    ("first", "last"),
    [("NaT", "NaT"), ("2020-01-01", "NaT"), ("NaT", "2020-01-01"), ("2018-01-01", "2020-01-01")],
)
def test_an_open_or_wide_window_tells_no_age(first, last):
    days, later = age(first, last)
    assert np.isnan(days)
    assert not later


def test_what_comes_after_the_day_is_later():
    assert age("2026-06-02", "2026-06-02")[1]
    assert not age("2026-05-31", "2026-07-01")[1]


def test_each_age_lies_in_its_cell():
    edges = EDGES_YEARS * DAYS_PER_YEAR
    assert cells_of_ages(edges).tolist() == list(range(CELLS))
    assert cells_of_ages(edges[1:] - 1e-6).tolist() == list(range(CELLS - 1))
    assert cells_of_ages(np.array([1e6, np.nan])).tolist() == [CELLS - 1, UNKNOWN]
