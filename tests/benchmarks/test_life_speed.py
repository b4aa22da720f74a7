"""Measures lives by counts against fitters that go row by row: both sides in one run, the ratio printed.

Run with ``python -m pytest -m benchmark -s tests/benchmarks/test_life_speed.py``. With RISKMODEL_FULL=1 the
other fitters are timed on all rows; without it on a tenth, and their time is multiplied by ten.
"""

import os
import time
import warnings

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.counts import count_rows
from riskmodel.life.posterior import find_mode, posterior
from riskmodel.life.tables import (
    probabilities_by_class_and_day,
    probabilities_by_day,
    probability_table,
    stack_tables,
)
from riskmodel.life.tally import tally_counts

ROWS = 10_000_000
FULL = os.environ.get("RISKMODEL_FULL") == "1"
TIMED = ROWS if FULL else ROWS // 10
YEAR = 365.25
PRIOR = WeibullPrior.from_interval(5)

pytestmark = pytest.mark.benchmark


def half_yearly(age, random):
    """Looks at fixed ages, as at every lay-up: intervals recur, and a few thousand are distinct."""
    before = (age - 1) // 182 * 182
    return before, before + 182


def any_day(age, random):
    """Looks on any day within some 200 days either side: most of a million intervals are distinct."""
    return age - random.integers(1, 200, len(age)), age + random.integers(0, 200, len(age))


def simulated(number, looks, seed=1):
    """Ages from differences of days: two lives in five watched late, three failures in five found at a look.

    Lives that had not failed when last seen are right-censored.
    """
    random = np.random.default_rng(seed)
    entry = np.where(random.random(number) < 0.4, random.integers(0, 8 * 365, number), 0)
    # Whole at entry: the cumulative hazard at failure is that at entry and an exponential more.
    hazard = (entry / YEAR / 14) ** 2.4 + random.exponential(size=number)
    age = np.floor(14 * hazard ** (1 / 2.4) * YEAR).astype(np.int64)
    age = np.maximum(age, entry + 1)
    seen = entry + random.integers(200, 12 * 365, number)
    failed, looked = age <= seen, random.random(number) < 0.6
    before, found = looks(age, random)
    lower = np.where(failed, np.where(looked, np.maximum(before, entry), age), seen)
    upper = np.where(failed, np.where(looked, found, age), np.inf)
    return lower / YEAR, upper / YEAR, entry / YEAR


def seconds(call, turns=1):
    """Least wall time of some turns, and the last answer."""
    best, answer = np.inf, None
    for _ in range(turns):
        answer = None
        start = time.perf_counter()
        answer = call()
        best = min(best, time.perf_counter() - start)
    return best, answer


def say(what, ours, other=None, theirs=None):
    if other is None:
        print(f"\n{what}: {1e3 * ours:.3f} ms")
    else:
        print(f"\n{what}: {ours:.4f} s; {other}: {theirs:.3f} s; ratio {theirs / ours:.1f}")


@pytest.fixture(scope="module", params=[half_yearly, any_day], ids=["half-yearly looks", "looks on any day"])
def columns(request):
    return simulated(ROWS, request.param)


@pytest.fixture(scope="module")
def ours(columns):
    """Seconds from raw arrays to a whole life, and the mode of the rows that the others are timed on."""
    least, _ = seconds(lambda: fit_life(LifeRows(*columns), PRIOR), turns=7)
    return least, fit_life(LifeRows(*(column[:TIMED] for column in columns)), PRIOR).mode


def test_ten_million_rows_against_lifelines(columns, ours):
    from lifelines import WeibullFitter

    lower, upper, entry = (column[:TIMED] for column in columns)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs, fitted = seconds(lambda: WeibullFitter().fit_interval_censoring(lower, upper, entry=entry))
    say(f"{ROWS:,} rows", ours[0], f"lifelines, {_how()}", theirs * ROWS / TIMED)
    assert ours[1] == pytest.approx((fitted.rho_, fitted.lambda_), rel=1e-4)


def test_ten_million_rows_against_the_fastest_other_fitter(columns, ours):
    surpyval = pytest.importorskip("surpyval", reason="not a dependency: pip install surpyval to compare")
    lower, upper, entry = (column[:TIMED] for column in columns)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs, fitted = seconds(lambda: surpyval.Weibull.fit(xl=lower, xr=upper, tl=entry), turns=2)
    say(f"{ROWS:,} rows", ours[0], f"surpyval, {_how()}", theirs * ROWS / TIMED)
    assert ours[1] == pytest.approx(tuple(fitted.params[::-1]), rel=1e-4)


@pytest.mark.parametrize("number", [1000, 100_000, ROWS])
def test_records_added_to_kept_counts(number):
    columns = simulated(number, half_yearly)
    kept = count_rows(LifeRows(*columns))
    few = LifeRows(*(column[:200] for column in columns))
    before, _ = find_mode(tally_counts(kept), PRIOR)

    def mode():
        return find_mode(tally_counts(kept + count_rows(few)), PRIOR, before)

    def whole():
        return posterior(tally_counts(kept + count_rows(few)), PRIOR, before)

    print(
        f"\nkept counts of {number:,} rows: {len(kept.age):,} distinct ages, {len(kept.pairs):,} distinct intervals"
    )
    say("mode after 200 more records", seconds(mode, turns=20)[0])
    say("whole posterior after 200 more records", seconds(whole, turns=5)[0])


def test_a_thousand_rows():
    few = simulated(1000, half_yearly)
    say(
        "mode of 1,000 raw rows",
        seconds(lambda: find_mode(tally_counts(count_rows(LifeRows(*few))), PRIOR), turns=20)[0],
    )
    say("whole life of 1,000 raw rows", seconds(lambda: fit_life(LifeRows(*few), PRIOR), turns=20)[0])


def test_a_million_items_against_one_plug_in_prediction():
    from lifelines import WeibullFitter

    lower, upper, entry = simulated(5000, half_yearly)
    life = fit_life(LifeRows(lower, upper, entry), PRIOR)
    days = np.random.default_rng(2).integers(0, 40 * 365, 1_000_000).astype(np.int32)
    ages = days / YEAR
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        plug_in = WeibullFitter().fit_interval_censoring(lower, upper, entry=entry)
    for what in ("predict", "survival_function_at_times", "cumulative_hazard_at_times"):
        theirs, _ = seconds(lambda what=what: getattr(plug_in, what)(ages), turns=5)
        table_time, table = seconds(lambda: probability_table(life, 1.0, 40), turns=5)
        looked_up, _ = seconds(lambda table=table: probabilities_by_day(table, days), turns=5)
        say("1,000,000 items, look-up", looked_up, f"lifelines {what}", theirs)
        say("1,000,000 items, table and look-up", table_time + looked_up, f"lifelines {what}", theirs)


def test_a_hundred_and_twenty_million_items():
    number, random = 120_000_000, np.random.default_rng(3)
    lives = [fit_life(LifeRows.none(), WeibullPrior.from_interval(years)) for years in range(1, 41)]
    table_time, stacked = seconds(lambda: stack_tables([probability_table(life, 1.0, 80) for life in lives]))
    classes = random.integers(0, len(lives), number, dtype=np.uint8)
    days = random.integers(0, 80 * 365, number, dtype=np.uint16)
    looked_up, _ = seconds(lambda: probabilities_by_class_and_day(stacked, classes, days), turns=4)
    print(f"\n120,000,000 items of {len(lives)} classes: {looked_up:.2f} s, tables {table_time:.2f} s")


def _how():
    return "timed on all rows" if FULL else f"{TIMED:,} rows timed and scaled"
