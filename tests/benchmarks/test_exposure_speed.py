"""Measures yearly losses of a million items, exact against simulated and against another program, in one run.

Run with ``python -m pytest -m benchmark -s tests/benchmarks/test_exposure_speed.py``. Slow sides are timed on a slice
and multiplied, as the printed lines say. The other program is the library `aggregate` (the extra `check`); it has no
items of their own chance, so it is given their sizes with a Poisson number of losses, which we prepare for it, and once
item by item, as parts of a mixture.
"""

import time
import warnings

import numpy as np
import pytest

from riskmodel.exposure import annual_loss, lognormal_factor, mixture_loss, node_chances, shared_factor_loss

ITEMS, YEARS, SIMULATED = 1_000_000, 10_000, 20
CLASSES_AND_DAYS, NODES, CLASS_NODES = 20_000, 64, 41


@pytest.fixture(scope="module")
def items():
    """Chances and losses: 5,000 losses expected of a million items, log-normal, as they come and in hundreds."""
    random = np.random.default_rng(7)
    loss = random.lognormal(8, 1.2, ITEMS)
    return random.uniform(0, 0.01, ITEMS), loss, np.maximum(np.round(loss, -2), 100.0)


def timed(work, times=3):
    """The best of a few runs, and what came of it."""
    found = []
    for _ in range(times):
        started = time.perf_counter()
        result = work()
        found.append(time.perf_counter() - started)
    return min(found), result


@pytest.mark.benchmark
def test_a_million_items_against_ten_thousand_simulated_years(items):
    chance, loss, hundreds = items
    random = np.random.default_rng(1)
    simulated, _ = timed(lambda: [(random.random(ITEMS) < chance) @ loss for _ in range(SIMULATED)], 1)
    whole = simulated * YEARS / SIMULATED
    print(f"\ndense numpy, {SIMULATED} years measured: {whole:,.0f} s for {YEARS:,} years")
    for name, losses in (("in hundreds, exact", hundreds), ("as they come", loss)):
        ours, year = timed(lambda losses=losses: annual_loss(chance, losses))
        print(f"{ITEMS:,} items {name}: {ours:.3f} s, {whole / ours:,.0f} times; {year.errors}")
        assert year.pmf @ year.losses == pytest.approx(chance @ losses, rel=1e-9)


@pytest.mark.benchmark
def test_a_million_items_against_another_program(items):
    aggregate = pytest.importorskip(
        "aggregate", reason="the library aggregate: pip install 'riskmodel[check]'"
    )
    chance, loss, _ = items
    deviation = np.sqrt(chance @ loss**2 - (chance * loss) @ (chance * loss))

    def sizes():
        order = np.argsort(loss)
        book = aggregate.Aggregate(
            "book",
            exp_en=chance.sum(),
            sev_name="dhistogram",
            sev_xs=loss[order],
            sev_ps=chance[order] / chance.sum(),
            freq_name="poisson",
        )
        book.update(log2=18, bs=200)
        return book

    def one_by_one(count=100):
        parts = {"sev_name": "lognorm", "sev_mean": loss[:count], "sev_cv": 0.01, "freq_name": "poisson"}
        book = aggregate.Aggregate("items", exp_en=chance[:count], **parts)
        book.update(log2=16, bs=200)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs, book = timed(sizes)
        each, _ = timed(one_by_one, 1)
    ours, year = timed(lambda: annual_loss(chance, loss))
    off = [abs(found / deviation - 1) for found in (book.agg_sd, lattice_deviation(year))]
    print(f"\n{ITEMS:,} items: {ours:.3f} s, deviation off by {off[1]:.1e}")
    print(
        f"aggregate, sizes with a Poisson number: {theirs:.3f} s, {theirs / ours:.1f} times; off by {off[0]:.1e}"
    )
    whole = each * ITEMS / 100
    print(f"aggregate, item by item (100 measured): {whole:,.0f} s, {whole / ours:,.0f} times")
    assert off[1] < off[0]


@pytest.mark.benchmark
def test_a_million_items_that_share_something(items):
    chance, loss, _ = items
    random = np.random.default_rng(2)
    for spread in (0.1, 0.3):
        seconds, year = timed(
            lambda spread=spread: shared_factor_loss(chance, loss, lognormal_factor(spread, NODES))
        )
        print(
            f"\n{ITEMS:,} items, {NODES} nodes of a factor of deviation {spread}: {seconds:.2f} s; {year.errors}"
        )
        assert year.pmf @ year.losses == pytest.approx(chance @ loss, rel=1e-9)
    own = random.normal(size=(CLASSES_AND_DAYS, CLASS_NODES))
    moves = np.exp(0.3 * random.normal(size=(1, CLASS_NODES)) + 0.1 * own)
    cells = np.minimum(random.uniform(0, 0.01, (CLASSES_AND_DAYS, 1)) * moves, 1.0)
    weight = np.full(CLASS_NODES, 1 / CLASS_NODES)
    nodes = node_chances(cells, weight, random.integers(0, CLASSES_AND_DAYS, ITEMS))
    seconds, year = timed(lambda: mixture_loss(nodes, loss), 2)
    print(
        f"{ITEMS:,} items in {CLASSES_AND_DAYS:,} cells, {CLASS_NODES} nodes of class lives: {seconds:.2f} s"
    )
    assert year.pmf @ year.losses == pytest.approx(nodes.average @ loss, rel=1e-9)


@pytest.mark.benchmark
def test_counts_cost_the_same_however_many_items(items):
    chance, _, hundreds = items
    cells = np.random.default_rng(3).integers(0, ITEMS, 2000)
    print()
    for count in (1, 100, 10_000, 1_000_000):
        many = np.full(len(cells), count)
        seconds, year = timed(lambda many=many: annual_loss(chance[cells], hundreds[cells], count=many))
        print(
            f"2,000 cells of {count:,}, {2000 * count:,} items: {seconds * 1000:.0f} ms; {len(year.pmf):,} points"
        )


def lattice_deviation(year):
    mean = year.pmf @ year.losses
    return np.sqrt(year.pmf @ (year.losses - mean) ** 2)
