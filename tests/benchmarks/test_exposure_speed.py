"""Measures yearly losses of a million items, exact against simulated and against another program, in one run.

Run with ``python -m pytest -m benchmark -s tests/benchmarks/test_exposure_speed.py``. Both sides take turns, so that a
busy machine slows both, and the best of the turns counts. Slow sides are timed on a slice and multiplied, as the
printed lines say. The other program is the library `aggregate` (the extra `check`). It has no items of their own
chance but one by one: it is given their sizes with a Poisson number of losses, as they come and put on its lattice by
us (which is counted), and with a binomial number whose deviation we worked out for it (which is not). Errors are
those of the deviation, from the closed form, and the largest of the distribution function, from an inversion without
any lattice.
"""

import time
import warnings

import numpy as np
import pytest

from riskmodel.exposure import annual_loss, lognormal_factor, mixture_loss, node_chances, shared_factor_loss

ITEMS, YEARS, SIMULATED, ONE_BY_ONE = 1_000_000, 10_000, 10, 100
CLASSES_AND_DAYS, NODES, CLASS_NODES = 20_000, 64, 41
# The other program's lattices: spacing [currency] and the binary logarithm of its points.
USUAL, LATTICES = (200.0, 18), ((800.0, 16), (200.0, 18), (50.0, 20))

OURS, OURS_IN_ITS_STEPS = "ours, its own lattice", "ours, steps of 200"
AS_GIVEN = "aggregate, a million sizes, Poisson"


@pytest.fixture(scope="module")
def items():
    """Chances and losses: 5,000 losses expected of a million items, log-normal, as they come and in hundreds."""
    random = np.random.default_rng(7)
    loss = random.lognormal(8, 1.2, ITEMS)
    return random.uniform(0, 0.01, ITEMS), loss, np.maximum(np.round(loss, -2), 100.0)


def in_turn(works, times):
    """Seconds of the best of a few turns of each, and what came of the last."""
    best, results = dict.fromkeys(works, np.inf), {}
    for _ in range(times):
        for name, work in works.items():
            started = time.perf_counter()
            results[name] = work()
            best[name] = min(best[name], time.perf_counter() - started)
    return best, results


def timed(work, times=3):
    seconds, results = in_turn({"": work}, times)
    return seconds[""], results[""]


@pytest.mark.benchmark
def test_a_million_items_against_ten_thousand_simulated_years(items):
    chance, loss, hundreds = items
    random = np.random.default_rng(1)
    works = {
        # A product with the losses would wait for a second processor, and be the slower way where that is busy.
        "dense": lambda: [
            loss[np.flatnonzero(random.random(ITEMS) < chance)].sum() for _ in range(SIMULATED)
        ],
        "in hundreds, exact": lambda: annual_loss(chance, hundreds),
        "as they come": lambda: annual_loss(chance, loss),
    }
    seconds, results = in_turn(works, 10)
    whole = seconds.pop("dense") * YEARS / SIMULATED
    print(f"\ndense numpy, best {SIMULATED} years of 10 turns: {whole:,.1f} s for {YEARS:,} years")
    for name, losses in (("in hundreds, exact", hundreds), ("as they come", loss)):
        ours, year = seconds[name], results[name]
        print(f"{ITEMS:,} items {name}: {ours:.3f} s, {whole / ours:,.0f} times; {year.errors}")
        assert year.pmf @ year.losses == pytest.approx(chance @ losses, rel=1e-9)


@pytest.mark.benchmark
def test_a_million_items_against_another_program(items):
    aggregate = pytest.importorskip(
        "aggregate", reason="the library aggregate: pip install 'riskmodel[check]'"
    )
    chance, loss, _ = items
    given = theirs(aggregate, chance, loss)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        seconds, found = in_turn(routes(given, chance, loss), 5)
        each, _ = timed(lambda: one_by_one(aggregate, chance, loss), 2)
        finer = {
            f"{name} in steps of {lattice[0]:.0f}": given(*on_points(chance, loss, lattice), lattice, **how)
            for lattice in LATTICES
            for name, how in numbers(chance, loss).items()
        }
    off = off_from(chance, loss)
    print()
    for name, spent in seconds.items():
        sd, cdf = off(*found[name])
        times = f"{spent / seconds[OURS]:5.1f} times"
        print(f"{name:46s} {spent:6.3f} s, {times}; deviation off {sd:.1e}, chances {cdf:.1e}")
    whole = each * ITEMS / ONE_BY_ONE
    print(f"aggregate, one Bernoulli each ({ONE_BY_ONE} measured, not yet put together): {whole:,.0f} s,")
    print(
        f"which alone has every item's own chance: {whole / seconds[OURS]:,.0f} times. The others on other lattices:"
    )
    floors = {name: off(*one) for name, one in finer.items()}
    for name, (sd, cdf) in floors.items():
        print(f"  {name:32s} deviation off {sd:.1e}, chances {cdf:.1e}")
    met = [name for name, spent in seconds.items() if spent >= 10 * seconds[OURS]]
    print(f"10 times is met against: {', '.join(met) or 'the items one by one only'}")
    assert off(*found[OURS])[0] < off(*found[AS_GIVEN])[0]
    for mine in (OURS, OURS_IN_ITS_STEPS):
        assert off(*found[mine])[1] < min(cdf for _, cdf in floors.values())


def routes(given, chance, loss):
    fitted = numbers(chance, loss)["fitted binomial"]
    return {
        OURS: lambda: of_ours(annual_loss(chance, loss)),
        OURS_IN_ITS_STEPS: lambda: of_ours(annual_loss(chance, loss, step=USUAL[0])),
        AS_GIVEN: lambda: given(*as_they_come(chance, loss), USUAL),
        "aggregate, sizes put on its lattice, Poisson": lambda: given(*on_points(chance, loss, USUAL), USUAL),
        "aggregate, the same, fitted binomial": lambda: given(
            *on_points(chance, loss, USUAL), USUAL, **fitted
        ),
    }


def of_ours(year):
    return year.losses, year.pmf


def theirs(aggregate, chance, loss):
    """A function from sizes, their shares and a lattice to the other program's totals and chances."""

    def given(sizes, shares, lattice, freq_name="poisson", **how):
        book = aggregate.Aggregate(
            "book",
            exp_en=chance.sum(),
            sev_name="dhistogram",
            sev_xs=sizes,
            sev_ps=shares,
            freq_name=freq_name,
            **how,
        )
        book.update(log2=lattice[1], bs=lattice[0])
        return book.xs, book.agg_density

    return given


def as_they_come(chance, loss):
    order = np.argsort(loss)
    return loss[order], chance[order] / chance.sum()


def on_points(chance, loss, lattice):
    """Sizes split between two of its points with their mean kept: as good as we know how to give them to it."""
    ratio = loss / lattice[0]
    index = ratio.astype(np.int64)
    upper = chance * (ratio - index)
    size = index.max() + 2
    mass = np.bincount(index, chance - upper, size) + np.bincount(index + 1, upper, size)
    used = np.flatnonzero(mass)
    return used * lattice[0], mass[used] / mass.sum()


def numbers(chance, loss):
    """Its numbers of losses: the usual one, and one with which equal losses have the variance that the items have."""
    matched = (chance * loss) @ (chance * loss) * chance.sum() / (chance @ loss) ** 2
    return {"Poisson": {}, "fitted binomial": {"freq_name": "binomial", "freq_a": matched}}


def one_by_one(aggregate, chance, loss):
    for one in range(ONE_BY_ONE):
        book = aggregate.Aggregate(
            "item",
            exp_en=chance[one],
            sev_name="dhistogram",
            sev_xs=loss[one : one + 1],
            sev_ps=[1.0],
            freq_name="bernoulli",
        )
        book.update(log2=USUAL[1], bs=USUAL[0])


def off_from(chance, loss):
    """A function from totals and their chances to how far deviation (relative) and distribution function are off."""
    mean, sd = chance @ loss, np.sqrt(chance @ loss**2 - (chance * loss) @ (chance * loss))
    at = mean + sd * np.linspace(-5, 6, 1101)
    exact = without_a_lattice(chance, loss, (mean - 14 * sd, 28 * sd), at)

    def off(losses, pmf):
        middle = pmf @ losses
        found = np.sqrt(pmf @ (losses - middle) ** 2)
        # Half of a point's own chance lies below it: a step curve then stands for a smooth one.
        halfway = np.interp(at, losses, np.cumsum(pmf) - 0.5 * pmf)
        return abs(found / sd - 1), np.abs(halfway - exact).max()

    return off


def without_a_lattice(chance, loss, window, at):
    """P(S <= at) from the characteristic function of the losses as they are, as a Fourier series over a window."""
    start, length = window
    found, term, log = (at - start) / length, 1, 0.0
    while np.real(log) > -45:
        turn, log = 2 * np.pi * term / length, 0.0
        for some in np.array_split(np.arange(len(loss)), 16):
            log += np.log1p(chance[some] * np.expm1(-1j * turn * loss[some])).sum()
        each = np.exp(log + 1j * turn * start) * np.expm1(1j * turn * (at - start)) / (1j * turn)
        found, term = found + 2 * each.real / length, term + 1
    return found


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
