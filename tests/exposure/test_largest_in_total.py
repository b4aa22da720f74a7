"""The largest loss of a year is part of its total: at every return period the total is at least as large."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.exposure.book import BOATS, Book
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.exposed import exposure_of, side_of
from riskmodel.exposure.schedule.side import ManySide, side_of_schedule
from riskmodel.exposure.severities import SIZES, Severities

DRAWS = 6


def random_book(seed, rows, most_boats):
    """Boats worth from a hundred to ten million, of all chances, one of them far dearer than the others."""
    random = np.random.default_rng(seed)
    value = 10.0 ** random.uniform(2.0, 5.0, rows)
    value[0] = 10.0 ** random.uniform(5.0, 7.0)
    share = np.sort(10.0 ** random.uniform(-4.0, 0.5, (rows, 3, SIZES)), axis=2)
    cleared = random.choice([0.0, 0.01, 0.5], (rows, 3, 1)) * value[:, None, None]
    chance = 10.0 ** random.uniform(-6.0, -0.5, (rows, 3, 1)) * random.uniform(0.3, 1.0, (rows, 3, DRAWS))
    count = np.rint(10.0 ** random.uniform(0.0, np.log10(most_boats), rows)).astype(np.int64)
    vessels = pd.DataFrame({"vessel_id": [f"V{n}" for n in range(rows)], "value": value, BOATS: count})
    severity = Severities(
        median=share * value[:, None, None],
        cleared=np.broadcast_to(cleared, share.shape),
        log_sd=np.array([1.2, 0.8, 0.05]),
        value=value,
        below=random.integers(0, SIZES - 1, chance.shape).astype(np.int8),
        share=random.random(chance.shape),
    )
    return Book(vessels, ("sinking", "fire", "flooding"), ((0, 1), (2,)), chance, severity)


def holds(side):
    table = side.table
    for which in ("", "_low", "_high"):
        assert (table[f"total{which}"] >= table[f"largest{which}"]).all()
        assert (np.diff(table[f"largest{which}"]) >= 0).all()
        assert (np.diff(table[f"total{which}"]) >= 0).all()
        assert (table[f"tail_mean{which}"] >= table[f"total{which}"] * (1.0 - 1e-9)).all()
    assert np.isfinite(table.to_numpy()).all()


def boat_by_boat(seed, rows):
    book = random_book(seed, rows, 1)
    holds(side_of(book, Cover.of_all(book.severity.value, 3)))


def by_kind(seed, rows, most_boats):
    book = random_book(seed, rows, most_boats)
    side = side_of_schedule(book, Cover.of_all(book.severity.value, 3))
    holds(side)
    return side


@settings(max_examples=25)
@given(seed=st.integers(0, 2**32), rows=st.integers(1, 30))
def test_boat_by_boat(seed, rows):
    boat_by_boat(seed, rows)


@settings(max_examples=12)
@given(seed=st.integers(0, 2**32), rows=st.integers(1, 12), most_boats=st.sampled_from([3, 300, 30_000]))
def test_by_kind(seed, rows, most_boats):
    by_kind(seed, rows, most_boats)


def test_where_no_single_loss_shows_too():
    assert any(isinstance(by_kind(seed, 12, 1_000_000), ManySide) for seed in range(8))


@pytest.mark.thorough
def test_a_dear_boat_among_many_cheap_ones(assessed):
    """Amounts evenly apart put the largest loss of an ordinary year over its total."""
    boats = [{"vessel_id": f"B{n}", "value": 5_000_000 if n == 0 else 9_000} for n in range(60)]
    found = exposure_of(assessed(boats=boats))
    holds(found.before)


def test_sure_losses_are_found_to_the_last_digit(plain):
    book = plain([[[0.2]], [[0.3]]], [[2000.0], [74.0]])
    book = replace(book, severity=replace(book.severity, value=np.array([1000.0, 37.0])))
    side = side_of(book, Cover.of_all(book.severity.value, 1))
    assert side.largest.quantile(0.9) == pytest.approx(1000.0, rel=1e-6)
    assert side.largest.quantile(0.7) == pytest.approx(37.0, rel=1e-6)
    assert side.largest.quantile(0.5) == 0.0


@pytest.mark.slow
def test_hundreds_of_portfolios():
    for seed in range(300):
        boat_by_boat(seed, 1 + seed % 40)
        by_kind(seed, 1 + seed % 15, (3, 300, 30_000)[seed % 3])
