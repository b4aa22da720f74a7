"""The records' own estimate: by hand, by lifelines, and nothing drawn from a handful."""

import numpy as np
import pytest

from riskmodel.life import LifeRows
from riskmodel.report.observed_life import observed_life

NEVER = np.inf


def survivors(number, age):
    return [age] * number, [NEVER] * number


def rows_of(*pairs, entry=None, count=None):
    lower, upper = zip(*pairs, strict=True)
    return LifeRows(lower, upper, entry, count)


def test_it_is_the_product_limit_of_the_textbook():
    """Ten lives, failures at 2 and 5, one withdrawn at 3: 1 - (9/10) and 1 - (9/10)(7/8), worked by hand."""
    rows = rows_of((2, 2), (5, 5), (3, NEVER), *[(9, NEVER)] * 7)
    found = observed_life(rows)
    assert found.age.tolist() == [2, 5]
    assert found.failed == pytest.approx([1 / 10, 1 - 9 / 10 * 7 / 8])
    assert found.middle == pytest.approx([1 / 20, (1 / 10 + 1 - 9 / 10 * 7 / 8) / 2])
    assert (found.start, found.end, found.failures, found.method) == (0.0, 9.0, 2.0, "Kaplan–Meier")


def test_late_entries_are_not_watched_before_they_came():
    """Six from new and six watched from 4 on: a failure at 2 is one of six, one at 6 one of eleven."""
    rows = rows_of((2, 2), (6, 6), *[(9, NEVER)] * 10, entry=[0] * 6 + [4] * 6)
    found = observed_life(rows)
    assert found.failed == pytest.approx([1 / 6, 1 - 5 / 6 * 10 / 11])
    assert found.method == "Kaplan–Meier, late entry"


def test_intervals_without_late_entry_are_turnbulls():
    """Half of ten fail between 2 and 4, nobody else before 8: half of them let go there, drawn at 3."""
    found = observed_life(rows_of(*[(2, 4)] * 5, *[(8, NEVER)] * 5))
    assert found.method == "Turnbull, each share at the middle of its interval"
    assert found.age.tolist() == [3]
    assert found.failed == pytest.approx([0.5], abs=1e-4)


def test_an_exact_age_inside_an_interval_takes_the_intervals_share():
    """The self-consistent estimate puts what may lie anywhere in 2 to 4 on the one age known there (by hand)."""
    found = observed_life(rows_of(*[(2, 4)] * 5, (3, 3), *[(8, NEVER)] * 5))
    assert (found.age.tolist(), found.failed.tolist()) == ([3.0], pytest.approx([6 / 11], abs=1e-4))


@pytest.mark.parametrize(("number", "method"), [(150, "Turnbull"), (3000, "Kaplan–Meier, intervals")])
def test_intervals_tell_the_truth_whether_few_or_many(number, method):
    random = np.random.default_rng(4)
    true, seen = 12 * random.weibull(2.5, number), random.uniform(4, 14, number)
    failed = true < seen
    found = observed_life(
        LifeRows(np.where(failed, true - true % 0.5, seen), np.where(failed, true + 0.3, NEVER))
    )
    assert found.method.startswith(method)
    # Three standard errors of a share of that many lives, and a little for the width of the intervals.
    assert np.interp([5, 10], found.age, found.failed) == pytest.approx(
        1 - np.exp(-((np.array([5, 10]) / 12) ** 2.5)), abs=2.0 / number**0.5 + 0.02
    )


def test_intervals_with_late_entry_stand_at_their_middle():
    found = observed_life(rows_of((2, 4), *[(9, NEVER)] * 9, entry=[0] * 9 + [1]))
    assert found.method == "Kaplan–Meier, late entry, intervals at their middle"
    assert (found.age.tolist(), found.failed.tolist()) == ([3.0], pytest.approx([0.1]))


def test_it_begins_where_enough_are_watched_and_ends_where_they_are_gone():
    early = [(1, 1), (2, NEVER)]  # one of two: a landslide that must not be drawn
    many = [(8, 8), *[(9, NEVER)] * 9]
    found = observed_life(rows_of(*early, *many, (12, 12), entry=[0, 0] + [5] * 10 + [8]))
    assert (found.start, found.end) == (5.0, 9.0)
    assert (found.age.tolist(), found.failed.tolist()) == ([8.0], pytest.approx([0.1]))
    assert found.failures == 1.0


def test_shares_of_lives_count_as_shares_without_a_warning():
    half = observed_life(rows_of(*[(2, 2)] * 4, *[(9, NEVER)] * 20, count=[0.5] * 24))
    assert half.failures == 2.0
    assert half.failed == pytest.approx([4 / 24])


def test_a_count_is_that_many_lives():
    one = observed_life(rows_of((2, 2), (9, NEVER), count=[3, 7]))
    many = observed_life(rows_of(*[(2, 2)] * 3, *[(9, NEVER)] * 7))
    assert one.failed == pytest.approx(many.failed)


def test_the_order_of_the_rows_changes_nothing():
    random = np.random.default_rng(2)
    age, failed, entry = random.uniform(3, 9, 40), random.random(40) < 0.4, random.uniform(0, 2, 40)
    rows = LifeRows(age, np.where(failed, age, NEVER), entry)
    back = LifeRows(age[::-1], np.where(failed, age, NEVER)[::-1], entry[::-1])
    assert observed_life(rows).failed == pytest.approx(observed_life(back).failed, abs=1e-12)


def test_it_rises_and_stays_a_share():
    random = np.random.default_rng(3)
    for seed in range(20):
        age = np.random.default_rng(seed).exponential(5, 30) + 0.01
        entry = age * random.random(30)
        found = observed_life(LifeRows(age, np.where(random.random(30) < 0.5, age, NEVER), entry))
        if found is not None:
            assert (np.diff(found.failed) >= -1e-12).all()
            assert ((found.failed >= 0) & (found.failed <= 1)).all()


@pytest.mark.parametrize(
    "rows",
    [
        LifeRows.none(),
        LifeRows(*survivors(30, 4.0)),
        rows_of((2, 2), (3, NEVER), (4, NEVER)),
        rows_of((2, 2), *[(9, NEVER)] * 20, count=[0.3] + [1] * 20),
    ],
    ids=["no rows", "no failure", "too few watched", "a third of a failure"],
)
def test_nothing_is_drawn_from_a_handful(rows):
    assert observed_life(rows) is None


@pytest.mark.parametrize(("failures", "few"), [(4, True), (5, False)])
def test_few_failures_are_called_few(failures, few):
    assert observed_life(rows_of(*[(2, 2)] * failures, *[(9, NEVER)] * 20)).few is few
