"""Counts of equal rows: the same by cell and by sorting, exact to the last bit, and adding up."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, blocks
from riskmodel.life import counts as counts_module
from riskmodel.life.counts import count_rows
from riskmodel.life.posterior import find_mode, posterior
from riskmodel.life.tally import tally_counts, tally_rows

INF = np.inf
PRIOR = WeibullPrior.from_interval(5)
YEAR = 365.25


def mixed(number, seed=5, rate=YEAR, every=30):
    """Rows of every kind with ages of whole cells; intervals between looks ``every`` so many cells."""
    random = np.random.default_rng(seed)
    entry = np.where(random.random(number) < 0.5, random.integers(0, 3000, number), 0)
    end = entry + random.integers(1, 4000, number)
    kind = random.integers(0, 3, number)
    seen = np.maximum(end // every * every, entry)
    lower = np.where(kind == 2, seen, end)
    upper = np.select([kind == 0, kind == 1], [end, INF], np.maximum(seen + every, entry + 1))
    return LifeRows(lower / rate, upper / rate, entry / rate, random.choice([1, 1, 2, 0.5], number))


def sorted_counts(rows):
    return counts_module._by_sorting(rows.lower, rows.upper, rows.entry, rows.count)


def assert_same(first, second, exact=True):
    for name in ("age", "exits", "entries", "failures", "lower", "upper", "pairs"):
        one, other = getattr(first, name), getattr(second, name)
        if exact:
            assert one.tolist() == other.tolist(), name
        else:
            assert one == pytest.approx(other, rel=1e-12), name


@pytest.mark.parametrize("rate", [365.25, 730.5, 1.0], ids=["days", "half days", "hours"])
def test_counting_by_cell_gives_what_sorting_gives_to_the_last_bit(rate):
    rows = mixed(20_000, rate=rate)
    assert counts_module._lattice(rows) == rate
    assert_same(count_rows(rows), sorted_counts(rows))


def test_rows_off_the_lattice_are_kept_as_they_are_and_none_is_lost():
    rows = mixed(20_000)
    lower, upper, entry = rows.lower.copy(), rows.upper.copy(), rows.entry.copy()
    lower[7::100] *= 1 + 1e-15
    upper[7::100] = np.where(np.isfinite(upper[7::100]), upper[7::100] * (1 + 1e-14), INF)
    entry[9::100] *= 1 - 1e-13
    nudged = LifeRows(lower, upper, entry, rows.count)
    assert counts_module._lattice(nudged) == YEAR
    assert_same(count_rows(nudged), sorted_counts(nudged))


def test_an_interval_beyond_all_cells_is_kept_as_it_is():
    rows = mixed(6000)
    far = LifeRows(np.append(rows.lower, 2.0), np.append(rows.upper, 1e9), np.append(rows.entry, 0.0))
    assert_same(count_rows(far), sorted_counts(far))
    assert count_rows(far).upper.max() == 1e9


@pytest.mark.parametrize("scale", [1e-3, 86_400 * YEAR], ids=["no lattice", "seconds: too many cells"])
def test_other_units_are_counted_by_sorting(scale):
    rows = mixed(6000)
    other = LifeRows(rows.lower * scale, rows.upper * scale, rows.entry * scale, rows.count)
    assert counts_module._lattice(other) == 0
    assert_same(count_rows(other), sorted_counts(other))


def test_many_distinct_intervals_are_counted_by_sorting_their_places(monkeypatch):
    rows = mixed(20_000, every=7)
    usual = count_rows(rows)
    monkeypatch.setattr(counts_module, "MOST_PLACES", 10)
    assert_same(count_rows(rows), usual)


def test_the_number_of_workers_and_rows_a_step_changes_nothing(monkeypatch):
    rows = mixed(50_000)
    usual = count_rows(rows)
    monkeypatch.setattr(blocks, "BLOCK", 4096)
    for workers in (1, 2, 7):
        monkeypatch.setattr(blocks, "WORKERS", workers)
        assert_same(count_rows(rows), usual)


def test_blocks_come_in_order_and_cover_every_row(monkeypatch):
    monkeypatch.setattr(blocks, "BLOCK", 10)
    found = list(blocks.each_block(lambda part: range(100)[part], 95))
    assert [row for part in found for row in part] == list(range(95))
    assert list(blocks.each_block(lambda part: part, 0)) == []


def test_the_first_bad_row_of_many_blocks_is_the_one_named(monkeypatch):
    monkeypatch.setattr(blocks, "BLOCK", 10)
    lower = np.ones(95)
    lower[[38, 71]] = -1.0, np.nan
    with pytest.raises(ParameterError, match="row 39: lower must be a finite age of 0 or more, got -1"):
        LifeRows(lower, np.full(95, INF))


def test_rows_left_out_of_many_blocks_are_counted_once(monkeypatch):
    monkeypatch.setattr(blocks, "BLOCK", 10)
    lower, entry, count = np.arange(1.0, 96.0), np.zeros(95), np.ones(95)
    entry[[3, 44]], count[[44, 60]] = lower[[3, 44]], 0.0
    with pytest.warns(UserWarning, match="1 rows without exposure left out"):
        rows = LifeRows(lower, np.full(95, INF), entry, count)
    assert sorted(set(np.arange(1.0, 96.0)) - set(rows.lower)) == [4, 45, 61]


@settings(max_examples=30, deadline=None)
@given(sizes=st.lists(st.integers(0, 40), min_size=2, max_size=4), seed=st.integers(0, 99))
def test_counts_of_parts_add_up_to_the_counts_of_the_whole(sizes, seed):
    rows = mixed(sum(sizes), seed)
    ends = np.cumsum([0, *sizes])
    parts = [
        LifeRows(*(column[a:b] for column in (rows.lower, rows.upper, rows.entry, rows.count)))
        for a, b in itertools.pairwise(ends)
    ]
    total = count_rows(LifeRows.none())
    for part in parts:
        total = total + count_rows(part)
    assert_same(total, count_rows(rows), exact=False)


def test_adding_counts_changes_neither_part():
    first, second = count_rows(mixed(50, 1)), count_rows(mixed(50, 2))
    before = [column.copy() for column in (first.age, first.exits, first.pairs)]
    assert_same(first + second, second + first, exact=False)
    for kept, now in zip(before, (first.age, first.exits, first.pairs), strict=True):
        assert kept.tolist() == now.tolist()


def test_adding_no_rows_adds_nothing():
    some = count_rows(mixed(500))
    assert_same(some + count_rows(LifeRows.none()), some)


def test_entries_at_age_nought_are_counted():
    rows = mixed(20_000)
    assert count_rows(rows).entries.sum() == rows.count.sum() == count_rows(rows).exits.sum()
    assert count_rows(rows).entries[0] == rows.count[rows.entry == 0].sum()


def test_a_tally_of_counts_is_the_tally_of_their_rows():
    rows = mixed(3000)
    counted, direct = tally_counts(count_rows(rows)), tally_rows(rows)
    assert (counted.failures, counted.first, counted.last) == (direct.failures, direct.first, direct.last)
    exact = rows.lower == rows.upper
    assert counted.failures == rows.count[exact].sum()
    assert counted.log_age_sum == pytest.approx(rows.count[exact] @ np.log(rows.lower[exact]), rel=1e-12)
    ended = np.isfinite(rows.upper)
    assert (counted.first, counted.last) == (rows.upper[ended].min(), rows.lower[ended].max())


def test_a_mode_from_kept_counts_is_the_mode_of_all_rows():
    old, new = mixed(5000, 1), mixed(40, 2)
    both = LifeRows(
        *(np.concatenate([getattr(old, n), getattr(new, n)]) for n in ("lower", "upper", "entry", "count"))
    )
    kept = count_rows(old)
    before, _ = find_mode(tally_counts(kept), PRIOR)
    after, here = find_mode(tally_counts(kept + count_rows(new)), PRIOR, before)
    assert after == pytest.approx(find_mode(tally_rows(both), PRIOR)[0], abs=1e-9)
    assert np.abs(here.gradient).max() < 1e-5


@pytest.mark.parametrize("start", [(-1.0, 0.0), (2.0, 4.0), (0.9, 1.6)])
def test_the_start_does_not_move_the_mode_or_the_posterior(start):
    tally = tally_rows(mixed(300))
    usual = posterior(tally, PRIOR)
    moved = posterior(tally, PRIOR, np.array(start))
    assert moved.mode == pytest.approx(usual.mode, abs=1e-9)
    assert moved.weight @ moved.log_age == pytest.approx(usual.weight @ usual.log_age, abs=1e-9)


def test_rows_hold_floats_without_a_copy_and_cannot_be_written_to():
    lower, upper = np.array([1.0, 2.0]), np.array([INF, 2.0])
    rows = LifeRows(lower, upper)
    assert np.shares_memory(rows.lower, lower)
    for column in (rows.lower, rows.upper, rows.entry, rows.count):
        with pytest.raises(ValueError, match="read-only"):
            column[0] = 3.0
    lower[0] = 1.5  # the caller's own array is the caller's


def test_rows_raised_to_their_entry_are_a_copy():
    lower = np.array([0.0, 3.0])
    rows = LifeRows(lower, [6.0, INF], [5.0, 1.0])
    assert (rows.lower.tolist(), lower.tolist()) == ([5, 3], [0, 3])
