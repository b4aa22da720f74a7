"""Tables by day of age: as near the direct average as promised, at the price of a look-up."""

import math

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.life.spline import even_spline
from riskmodel.life.tables import (
    DAYS_PER_YEAR,
    probabilities_by_class_and_day,
    probabilities_by_day,
    probability_table,
    stack_tables,
)

INF = np.inf
PROMISED = 1e-6
LIFE = fit_life(LifeRows([4, 6, 9], [4, 6, INF], [0, 2, 0]), WeibullPrior.from_interval(5))
HORIZONS = (1 / DAYS_PER_YEAR, 1 / 12, 0.5, 1.0, 3.0, 10.0, 40.0)


def random_life(random):
    """A life from up to eight rows of every kind, some of them standing for hundreds."""
    number = random.integers(0, 9)
    low = random.uniform(0.05, 40, number)
    upper = np.choose(
        random.integers(0, 3, number), [low, np.full(number, INF), low + random.uniform(0.1, 10)]
    )
    rows = LifeRows(low, upper, low * random.uniform(0, 0.9, number), random.choice([1, 5, 200], number))
    shape, doubt = random.choice([0.8, 1, 2.2, 2.5, 3]), random.choice([0.2, 0.3, 0.4])
    interval = float(random.choice([0.5, 1, 2, 5, 10, 20]))
    return fit_life(rows, WeibullPrior.from_interval(interval, shape=shape, shape_log_sd=doubt))


def errors(life, horizon, days):
    """Worst absolute and relative error of a table to 80 years at ``days``, against direct quadrature."""
    found = probabilities_by_day(probability_table(life, horizon, 80), days)
    direct = life.failure_probability(days / DAYS_PER_YEAR, horizon)
    gap = np.abs(found - direct)
    return gap.max(), (gap / np.maximum(direct, 1e-12)).max()


@pytest.mark.parametrize("seed", range(12))
def test_no_item_of_a_random_life_is_further_from_quadrature_than_promised(seed):
    random = np.random.default_rng(seed)
    life, horizon = random_life(random), float(random.choice(HORIZONS))
    days = np.concatenate([np.arange(40), random.integers(0, 80 * 365, 400)])
    absolute, relative = errors(life, horizon, days)
    print(f"seed {seed}: worst error {absolute:.1e} absolute, {relative:.1e} relative")
    assert absolute < PROMISED


@pytest.mark.slow
def test_no_day_of_two_hundred_random_lives_is_further_from_quadrature_than_promised():
    random = np.random.default_rng(99)
    found = []
    for _ in range(200):
        life, horizon = random_life(random), float(random.choice(HORIZONS))
        found.append(errors(life, horizon, np.arange(0, 80 * 365, 7)))
    worst = np.max(found, axis=0)
    print(f"\nworst of 200 lives, every week to 80 years: {worst[0]:.1e} absolute, {worst[1]:.1e} relative")
    assert worst[0] < PROMISED


@pytest.mark.parametrize("horizon", HORIZONS)
def test_every_day_to_eighty_years_is_within_the_promise(horizon):
    assert errors(LIFE, horizon, np.arange(80 * 365))[0] < PROMISED


@pytest.mark.parametrize(
    "rows",
    [
        LifeRows([3.0], [3.0], count=[10_000]),
        LifeRows([30.0], [30.0], count=[200]),
        LifeRows([9, 30], [9, 30], count=[200, 200]),
        LifeRows([1e5], [INF], count=[1000]),
    ],
    ids=["one age", "one old age", "two ages", "never"],
)
def test_lives_too_sharp_for_a_spline_are_averaged_day_by_day(rows):
    life = fit_life(rows, WeibullPrior.from_interval(5))
    assert errors(life, 0.5, np.arange(0, 80 * 365, 3))[0] < PROMISED


def test_age_nought_stands_apart_and_is_exact():
    early = fit_life(LifeRows.none(), WeibullPrior.from_interval(3, shape=0.8))
    table = probability_table(early, 1 / DAYS_PER_YEAR, 80)
    assert table.by_day[0] == early.failure_probability(0, 1 / DAYS_PER_YEAR)
    # A part that fails young is likelier to fail on its first day than on its second.
    assert table.by_day[0] > 1.2 * table.by_day[1]


def test_a_horizon_of_nought_has_no_chance():
    assert probability_table(LIFE, 0.0, 30).by_day == pytest.approx(0, abs=1e-15)


@pytest.mark.parametrize(("oldest", "days"), [(0, 0), (0.002, 0), (1 / DAYS_PER_YEAR, 1), (30, 10_957)])
def test_a_table_reaches_to_the_oldest_whole_day(oldest, days):
    table = probability_table(LIFE, 1.0, oldest)
    assert table.oldest == days
    assert table.by_day[-1] == pytest.approx(
        float(LIFE.failure_probability(days / DAYS_PER_YEAR, 1)), abs=1e-6
    )


def test_chances_lie_in_nought_to_one_and_grow_with_the_horizon():
    curves = [probability_table(LIFE, horizon, 80).by_day for horizon in HORIZONS]
    assert ((np.array(curves) >= 0) & (np.array(curves) <= 1)).all()
    assert (np.diff(curves, axis=0) >= -PROMISED).all()


@pytest.mark.parametrize("kind", [np.int64, np.int32, np.uint16])
def test_days_of_any_whole_type_are_looked_up(kind):
    table = probability_table(LIFE, 1.0, 30)
    days = np.array([0, 5000, 10_957, 3], dtype=kind)
    assert probabilities_by_day(table, days).tolist() == table.by_day[[0, 5000, 10_957, 3]].tolist()


@pytest.mark.parametrize(("days", "got"), [([-1, 5], -1), ([5, 20_000], 20_000)])
def test_ages_outside_the_table_are_refused(days, got):
    with pytest.raises(ParameterError, match=f"days must lie between 0 and 10957, got {got}"):
        probabilities_by_day(probability_table(LIFE, 1.0, 30), np.array(days))


@pytest.mark.parametrize("bad", [-1.0, math.nan, INF])
def test_impossible_horizons_and_ages_are_refused(bad):
    with pytest.raises(ParameterError, match="horizon must be 0 or more and finite"):
        probability_table(LIFE, bad, 30)
    with pytest.raises(ParameterError, match="oldest must be 0 or more and finite"):
        probability_table(LIFE, 1.0, bad)


def stacked():
    other = fit_life(LifeRows.none(), WeibullPrior.from_interval(2, shape=0.8))
    return stack_tables([probability_table(life, 1.0, 30) for life in (LIFE, other)])


def test_items_of_several_classes_each_get_their_own_chance():
    random = np.random.default_rng(1)
    classes = random.integers(0, 2, 200_000, dtype=np.uint8)
    days = random.integers(0, 10_958, 200_000, dtype=np.uint16)
    tables = stacked()
    found = probabilities_by_class_and_day(tables, classes, days)
    assert found.tolist() == tables[classes, days].tolist()
    direct = LIFE.failure_probability(days[classes == 0][:500] / DAYS_PER_YEAR, 1.0)
    assert found[classes == 0][:500] == pytest.approx(direct, abs=PROMISED)


def test_no_items_have_no_chances():
    none = np.empty(0, dtype=np.uint16)
    assert len(probabilities_by_class_and_day(stacked(), none, none)) == 0
    assert len(probabilities_by_day(probability_table(LIFE, 1.0, 30), none)) == 0


@pytest.mark.parametrize(
    ("classes", "days", "message"),
    [
        ([0, 2], [1, 1], "classes must lie between 0 and 1, got 2"),
        ([0, -1], [1, 1], "classes must lie between 0 and 1, got -1"),
        ([0, 1], [1, 10_958], "days must lie between 0 and 10957, got 10958"),
        ([0], [1, 2], "equally long, got 1 and 2"),
    ],
)
def test_items_outside_the_tables_are_refused(classes, days, message):
    with pytest.raises(ParameterError, match=message):
        probabilities_by_class_and_day(stacked(), np.array(classes), np.array(days))


@pytest.mark.parametrize(
    "tables",
    [
        [],
        [probability_table(LIFE, 1, 9), probability_table(LIFE, 2, 9)],
        [probability_table(LIFE, 1, a) for a in (8, 9)],
    ],
    ids=["none", "two horizons", "two greatest ages"],
)
def test_tables_that_do_not_belong_together_are_refused(tables):
    with pytest.raises(ParameterError, match="must share one horizon and one greatest age"):
        stack_tables(tables)


def test_a_spline_gives_back_a_cubic():
    x = np.linspace(2.0, 5.0, 9)
    cubic = np.poly1d([0.7, -2.0, 1.0, 3.0])
    fine = np.linspace(2.0, 5.0, 101)
    assert even_spline(2.0, x[1] - x[0], cubic(x))(fine) == pytest.approx(cubic(fine), rel=1e-12)


def test_a_spline_nears_a_smooth_curve_with_the_fourth_power_of_its_step():
    fine = np.linspace(0.0, 3.0, 1001)
    worst = [
        np.abs(even_spline(0.0, 3.0 / n, np.sin(np.linspace(0, 3, n + 1)))(fine) - np.sin(fine)).max()
        for n in (20, 40)
    ]
    assert 12 < worst[0] / worst[1] < 40
