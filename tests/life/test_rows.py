"""The row form: what it keeps, raises, drops and refuses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life

INF = np.inf


def test_entry_and_count_default_to_nought_and_one():
    rows = LifeRows([1, 2], [1, INF])
    assert (rows.entry.tolist(), rows.count.tolist(), len(rows)) == ([0, 0], [1, 1], 2)


def test_numbers_of_lives_count_dates_and_intervals_as_failures():
    rows = LifeRows([1, 2, 3, 0], [1, 4, INF, 2], count=[2, 1, 5, 0.5])
    assert (rows.failures, rows.survivors) == (3.5, 5)


def test_no_rows_are_rows():
    rows = LifeRows.none()
    assert (len(rows), rows.failures, rows.survivors) == (0, 0, 0)


def test_lower_is_raised_to_entry():
    assert LifeRows([0, 1], [6, INF], [5, 0]).lower.tolist() == [5, 1]


def test_the_arrays_given_are_not_changed():
    lower = np.array([0.0, 3.0])
    LifeRows(lower, [6, INF], [5, 1])
    assert lower.tolist() == [0, 3]


def test_a_single_number_is_one_row():
    assert len(LifeRows(3.0, INF)) == 1


def test_rows_without_exposure_are_left_out_and_counted():
    with pytest.warns(UserWarning, match="2 rows without exposure left out"):
        rows = LifeRows([3, 0, 4], [INF, INF, INF], [3, 0, 1])
    assert rows.lower.tolist() == [4]


def test_rows_of_no_count_are_left_out_in_silence():
    rows = LifeRows([3, 3, 4], [INF, 3, INF], [3, 0, 1], [0, 0, 2])
    assert (rows.lower.tolist(), rows.count.tolist()) == ([4], [2])


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        (([1, -1], [2, 2]), r"row 2: lower must be a finite age of 0 or more, got -1"),
        (([1, np.nan], [2, 2]), r"row 2: lower must be a finite age of 0 or more, got nan"),
        (([INF], [INF]), r"row 1: lower must be a finite age of 0 or more, got inf"),
        (([1], [np.nan]), r"row 1: upper must be an age of 0 or more, inf when not yet failed, got nan"),
        (([0], [-2]), r"row 1: upper must be an age of 0 or more, inf when not yet failed, got -2"),
        (([3, 1], [2, 2]), r"row 1: lower must not be above upper, got 3"),
        (([0], [0]), r"row 1: lower a failure at age 0 has no date: give the interval \[0, resolution\]"),
        (([3], [INF], [4]), r"row 1: entry must not be above the age last seen, got 4"),
        (([3], [3], [3]), r"row 1: entry must lie below the age at failure: no time was watched, got 3"),
        (([1], [3], [4]), r"row 1: entry must lie below the age at failure: no time was watched, got 4"),
        (([1], [3], [-1]), r"row 1: entry must be a finite age of 0 or more, got -1"),
        (([1], [3], None, [-1]), r"row 1: count must be a finite number of 0 or more, got -1"),
        (([1], [3], None, [np.nan]), r"row 1: count must be a finite number of 0 or more, got nan"),
    ],
)
def test_a_row_that_cannot_be_is_named(columns, message):
    with pytest.raises(ParameterError, match=message):
        LifeRows(*columns)


def test_columns_of_unequal_length_are_refused():
    with pytest.raises(ParameterError, match=r"equally long, got \[2, 1, 2, 2\]"):
        LifeRows([1, 2], [3])


def test_a_table_of_ages_is_refused():
    with pytest.raises(ParameterError, match="equally long"):
        LifeRows([[1.0, 2.0]], [[3.0, 4.0]])


def test_words_are_refused():
    with pytest.raises(ParameterError, match=r"lower must be numbers, got \['old'\]"):
        LifeRows(["old"], [1])


def test_time_spans_without_a_unit_are_refused():
    with pytest.raises(ParameterError, match="upper is a time span without a unit"):
        LifeRows([1.0], np.array([3], dtype="timedelta64[D]"))


def test_rows_are_frozen():
    with pytest.raises(AttributeError, match="cannot assign"):
        LifeRows([1], [2]).lower = np.array([3.0])


PRIOR = WeibullPrior.from_interval(5)
AGES = st.floats(0.05, 40)


@st.composite
def any_rows(draw):
    """Up to eight rows of every kind, as (lower, upper, entry, count) tuples."""
    rows = []
    for _ in range(draw(st.integers(1, 8))):
        low, kind, late = draw(AGES), draw(st.sampled_from("eirl")), draw(st.floats(0, 0.9))
        upper = {"e": low, "i": low + draw(AGES), "r": INF, "l": low}[kind]
        lower = 0.0 if kind == "l" else low
        rows.append((lower, upper, late * low, draw(st.sampled_from([1.0, 2.0, 0.5]))))
    return rows


def chances(rows):
    life = fit_life(LifeRows(*zip(*rows, strict=True)), PRIOR)
    return life.failure_probability([0, 2, 7, 20], [1, 1, 2, 5])


@settings(max_examples=25, deadline=None)
@given(rows=any_rows(), order=st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(rows, order):
    shuffled = list(rows)
    order.shuffle(shuffled)
    assert chances(shuffled) == pytest.approx(chances(rows), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(rows=any_rows())
def test_a_row_of_two_is_a_row_twice(rows):
    twice = [row for row in rows for _ in range(2)]
    double = [(*row[:3], 2 * row[3]) for row in rows]
    assert chances(twice) == pytest.approx(chances(double), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(rows=any_rows(), share=st.floats(0.05, 0.95))
def test_a_life_watched_in_two_parts_is_the_life_watched_in_one(rows, share):
    lower, upper, entry, count = rows[0]
    cut = entry + share * (max(lower, entry) - entry)
    if cut <= entry:
        return
    parts = [(cut, INF, entry, count), (max(lower, cut), upper, cut, count)]
    if np.isinf(upper) and lower <= cut:
        return
    assert chances([*parts, *rows[1:]]) == pytest.approx(chances(rows), rel=1e-8)
