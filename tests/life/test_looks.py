"""Clean looks: against simulated parts, in the limits, and never a reason to think worse of a part."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from riskmodel.life.looks import (
    BEST_DETECTION,
    DETECTION_NODES,
    WIDTH_90,
    Looks,
    Windows,
    chance_after_looks,
    detection_nodes,
    open_beyond,
    window_nodes,
    with_look_today,
)
from riskmodel.life.weibull import failure_probability
from riskmodel.trade import load_trade

TRADE = load_trade()
MONTHS = 12.0
# name: (shape, scale, age, horizon), looks as (age, detection range), window range, how fast it ages. All our own.
CASES = {
    "one glance long ago": ((3.0, 14.0, 9.0, 1.0), [(7.5, (0.2, 0.5))], (0.25, 1.5), 1.0),
    "four looks of one hand": ((2.5, 10.0, 8.0, 2.0), [(a, (0.6, 0.9)) for a in (5, 6, 7, 8)], (0.5, 4), 1.0),
    "looks of unlike care": ((2.2, 20.0, 15.0, 3.0), [(12, (0.8, 0.95)), (14.5, (0.1, 0.3))], (1, 6), 1.0),
    "early failures": ((0.8, 30.0, 2.0, 1.0), [(1.5, (0.5, 0.8)), (1.9, (0.2, 0.5))], (0.1, 0.8), 1.0),
    "ageing at twice the pace": (
        (3.0, 14.0, 5.0, 1.0),
        [(3.0, (0.6, 0.9)), (4.5, (0.2, 0.5))],
        (0.5, 3),
        2.0,
    ),
    "a window far longer than the horizon": ((3.0, 12.0, 10.0, 0.5), [(9.8, (0.6, 0.9))], (3, 9), 1.0),
}


def life_of(shape, scale):
    return np.array([shape]), np.array([np.log(scale)])


def looks_at(ages, misses):
    """Looks at one part: ``misses`` is one array of levels a look."""
    return Looks(np.array([ages], dtype=float), np.array([misses], dtype=float))


def nothing_seen(levels=DETECTION_NODES):
    return Looks(np.full((1, 1), -np.inf), np.ones((1, 1, levels)))


def one_chance(times, looks, windows, life, speed=1.0):
    age, horizon = (np.array([value], dtype=float) for value in times)
    chance, clean = chance_after_looks(age, horizon, looks, windows, life, np.array([[speed]]))
    return float(chance[0, 0]), float(clean[0, 0])


def plain(age, horizon, life, speed=1.0):
    return float(failure_probability(np.float64(age * speed), np.float64(horizon * speed), *life)[0])


def as_asked(case):
    (shape, scale, age, horizon), seen, window, speed = case
    looks = looks_at([at for at, _ in seen], [1 - detection_nodes(*span) for _, span in seen])
    return (age, horizon), looks, window_nodes(*window), life_of(shape, scale), speed


def simulated_lives(case, number, seed):
    """Ages of letting go, given whole today, and lengths of their warning windows, in calendar years."""
    (shape, scale, age, _), _, (low, high), speed = case
    rng = np.random.default_rng(seed)
    hazard = (age * speed / scale) ** shape + rng.exponential(size=number)
    middle, sd = 0.5 * np.log(low * high), np.log(high / low) / WIDTH_90
    return scale * hazard ** (1 / shape) / speed, np.exp(rng.normal(middle, sd, number)) / speed


def simulated(case, number, seed):
    """(share let go in the horizon, its standard error, share clean, its standard error) of parts whole today."""
    (_, _, age, horizon), seen, _, _ = case
    let_go, window = simulated_lives(case, number, seed)
    rng = np.random.default_rng(seed + 1)
    # One eye for all looks at a part: where it stands among looks of each thoroughness is one draw.
    eye = rng.uniform(size=number)
    sight = {span: np.minimum(beta_of(*span).ppf(eye), BEST_DETECTION) for _, span in seen}
    clean = np.ones(number, dtype=bool)
    for at, span in seen:
        found = rng.uniform(size=number) < sight[span]
        clean &= ~(found & (let_go - window <= at))
    gone = let_go[clean] <= age + horizon
    share, whole = gone.mean(), clean.mean()
    return share, np.sqrt(share * (1 - share) / clean.sum()), whole, np.sqrt(whole * (1 - whole) / number)


def beta_of(low, high):
    mean, sd = 0.5 * (low + high), (high - low) / WIDTH_90
    worth = max(mean * (1 - mean) / sd**2 - 1, 1 / mean, 1 / (1 - mean))
    return stats.beta(mean * worth, (1 - mean) * worth)


def assert_agrees(name, number, seed=20):
    chance, clean = one_chance(*as_asked(CASES[name]))
    share, error, whole, whole_error = simulated(CASES[name], number, seed)
    print(f"{name}: {chance:.5f}, simulated {share:.5f} ± {error:.5f}; clean {clean:.5f}, {whole:.5f}")
    assert abs(chance - share) < 3 * error
    assert abs(clean - whole) < 3 * max(whole_error, 1e-5)


@pytest.mark.parametrize("name", CASES)
def test_the_chance_agrees_with_two_hundred_thousand_simulated_parts(name):
    assert_agrees(name, 200_000)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_the_chance_agrees_with_a_million_simulated_parts(name):
    assert_agrees(name, 1_000_000, seed=40)


@pytest.mark.parametrize("name", CASES)
def test_warnings_open_today_and_at_the_end_agree_with_simulation(name):
    (shape, scale, age, horizon), _, window, speed = CASES[name]
    let_go, length = simulated_lives(CASES[name], 200_000, 60)
    asked = np.array([age]), np.array([horizon]), window_nodes(*window), life_of(shape, scale)
    for found, seen in zip(
        open_beyond(*asked, np.array([[speed]])),
        ((let_go <= age + horizon) & (let_go - length > age), let_go - length > age + horizon),
        strict=True,
    ):
        assert abs(float(found[0, 0]) - seen.mean()) < 3 * np.sqrt(seen.mean() / 200_000) + 1e-6


def test_without_looks_it_is_the_plain_weibull_exactly():
    windows, ages = window_nodes(0.5, 3), np.array([0.0, 0.3, 8.0, 40.0])
    life = np.array([0.8, 1.0, 3.0]), np.log([20.0, 9.0, 14.0])
    never = Looks(np.zeros((4, 0)), np.ones((4, 0, 3)))
    empty = Looks(np.full((4, 3), -np.inf), np.zeros((4, 3, 3)))
    expected = failure_probability(ages[:, None], np.full((4, 1), 2.0), *life)
    for looks in (never, empty):
        chance, clean = chance_after_looks(ages, np.full(4, 2.0), looks, windows, life)
        assert chance == pytest.approx(expected, rel=1e-12)
        assert (clean == 1).all()


def test_a_look_so_long_ago_that_no_window_lasts_changes_nothing():
    times, life = (12.0, 1.0), life_of(3, 14)
    chance, clean = one_chance(times, looks_at([1.0], [[0.1]]), window_nodes(0.25, 1.5), life)
    assert chance == pytest.approx(plain(*times, life), rel=1e-12)
    assert clean == pytest.approx(1.0, abs=1e-12)


def test_a_perfect_look_today_before_a_long_warning_leaves_little():
    times, life = (10.0, 0.5), life_of(3, 12)
    chance, _ = one_chance(times, looks_at([10.0], [[0.0]]), window_nodes(4, 8), life)
    assert chance < plain(*times, life) / 1000


def test_a_perfect_look_makes_older_looks_worthless():
    times, windows, life = (10.0, 2.0), window_nodes(0.5, 4), life_of(3, 12)
    last = looks_at([9.0], [[0.0]])
    more = looks_at([6.0, 8.5, 9.0], [[0.3], [0.5], [0.0]])
    assert one_chance(times, more, windows, life) == pytest.approx(
        one_chance(times, last, windows, life), rel=1e-12
    )


def test_a_look_that_never_finds_anything_is_no_look():
    times, windows, life = (10.0, 2.0), window_nodes(0.5, 4), life_of(3, 12)
    blind, seeing = looks_at([8.0, 9.0], [[0.4], [1.0]]), looks_at([8.0], [[0.4]])
    assert one_chance(times, blind, windows, life) == pytest.approx(
        one_chance(times, seeing, windows, life), rel=1e-12
    )


def test_two_looks_of_one_day_count_the_same_in_either_order():
    times, windows, life = (10.0, 2.0), window_nodes(0.5, 4), life_of(3, 12)
    glance, grip = 1 - detection_nodes(0.2, 0.5), 1 - detection_nodes(0.6, 0.9)
    there = one_chance(times, looks_at([8.0, 9.5, 9.5], [glance, grip, glance]), windows, life)
    back = one_chance(times, looks_at([8.0, 9.5, 9.5], [glance, glance, grip]), windows, life)
    assert there == pytest.approx(back, rel=1e-12)


def test_empty_places_before_the_looks_change_nothing():
    times, windows, life = (10.0, 2.0), window_nodes(0.5, 4), life_of(3, 12)
    alone = looks_at([8.0, 9.0], [[0.4], [0.2]])
    padded = looks_at([-np.inf, -np.inf, 8.0, 9.0], [[0.9], [0.1], [0.4], [0.2]])
    assert one_chance(times, padded, windows, life) == one_chance(times, alone, windows, life)


def test_misses_that_repeat_are_worth_less_than_misses_by_chance():
    # The same hidden fold is missed again: four looks of one hand say less than four strangers' looks.
    times, windows, life = (8.0, 1.0), window_nodes(1, 6), life_of(3, 10)
    ages, shared = [5, 6, 7, 8], [0.05, 0.95]
    together = one_chance(times, looks_at(ages, [shared] * 4), windows, life)[0]
    strangers = one_chance(times, looks_at(ages, [[0.5, 0.5]] * 4), windows, life)[0]
    assert strangers < together < plain(*times, life)


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("unit", [365.25, 31_557_600.0])
def test_the_unit_of_time_does_not_matter(name, unit):
    times, looks, windows, life, speed = as_asked(CASES[name])
    scaled = Looks(looks.age * unit, looks.miss), Windows(windows.length * unit, windows.weight)
    got = one_chance([t * unit for t in times], *scaled, (life[0], life[1] + np.log(unit)), speed)
    assert got == pytest.approx(one_chance(times, looks, windows, life, speed), rel=1e-8)


@pytest.mark.parametrize("speed", [0.4, 2.5])
def test_ageing_faster_is_the_same_as_more_years(speed):
    times, looks, windows, life, _ = as_asked(CASES["looks of unlike care"])
    faster = one_chance(times, looks, windows, life, speed)
    longer = one_chance([t * speed for t in times], Looks(looks.age * speed, looks.miss), windows, life)
    assert faster == pytest.approx(longer, rel=1e-10)


def test_parts_and_nodes_together_are_each_alone():
    (age, horizon), looks, windows, _, _ = as_asked(CASES["four looks of one hand"])
    life, speeds = (np.array([1.5, 3.0]), np.log([12.0, 9.0])), np.array([[0.7], [1.6]])
    both = Looks(np.repeat(looks.age, 2, axis=0), np.repeat(looks.miss, 2, axis=0))
    chance, clean = chance_after_looks(np.full(2, age), np.full(2, horizon), both, windows, life, speeds)
    for n, speed in enumerate(speeds[:, 0]):
        for m in range(2):
            node = life[0][m : m + 1], life[1][m : m + 1]
            alone = one_chance((age, horizon), looks, windows, node, speed)
            assert (chance[n, m], clean[n, m]) == pytest.approx(alone, rel=1e-12)


@st.composite
def looked_at_parts(draw):
    """A part of a shipped class with clean looks of any thoroughness, and one look more."""
    item_class = TRADE.classes[draw(st.sampled_from(sorted(TRADE.classes)))]
    deviates = draw(st.tuples(st.floats(-2, 2), st.floats(-2, 2)))
    shape = item_class.mechanism.shape * np.exp(item_class.mechanism.log_sd * deviates[0])
    scale, age = 12 * np.exp(0.6 * deviates[1]), draw(st.floats(0.1, 40))
    seen = draw(
        st.lists(
            st.tuples(st.floats(0, 1), st.sampled_from(sorted(item_class.detection))), min_size=1, max_size=5
        )
    )
    low, high = item_class.warning_low_months / MONTHS, item_class.warning_high_months / MONTHS
    extra = draw(st.integers(0, len(seen) - 1))
    looks = [(place * age, 1 - detection_nodes(*item_class.detection[word])) for place, word in seen]
    # The fact is one of a window with one peak; 25 lengths stand for it too coarsely when only the longest still reach.
    windows = window_nodes(low, high, 201)
    return (age, draw(st.floats(0.05, 5))), looks, extra, windows, life_of(shape, scale)


def in_order(looks):
    looks = sorted(looks, key=lambda look: look[0])
    return looks_at([age for age, _ in looks], [miss for _, miss in looks]) if looks else nothing_seen()


@given(looked_at_parts())
def test_one_more_clean_look_never_raises_the_risk_of_shipped_classes(part):
    times, looks, extra, windows, life = part
    without = [look for place, look in enumerate(looks) if place != extra]
    more, clean_more = one_chance(times, in_order(looks), windows, life)
    less, clean_less = one_chance(times, in_order(without), windows, life)
    assert 0 <= more <= less + 1e-12
    assert 0 < clean_more <= clean_less + 1e-12


@given(looked_at_parts())
def test_a_longer_horizon_never_lowers_the_chance_after_looks(part):
    (age, horizon), looks, _, windows, life = part
    near, far = (one_chance((age, h), in_order(looks), windows, life)[0] for h in (horizon, 1.5 * horizon))
    assert near <= far + 1e-12


@given(looked_at_parts())
def test_what_lets_go_unseen_is_part_of_what_lets_go(part):
    (age, horizon), _, _, windows, life = part
    unseen, quiet = open_beyond(np.array([age]), np.array([horizon]), windows, life, np.ones((1, 1)))
    gone = plain(age, horizon, life)
    assert -1e-12 <= float(unseen[0, 0]) <= gone + 1e-12
    assert 0 <= float(quiet[0, 0]) <= 1 - gone + 1e-12


def test_a_clean_perfect_look_today_is_what_open_beyond_tells():
    (age, horizon), _, windows, life, speed = as_asked(CASES["ageing at twice the pace"])
    look = with_look_today(nothing_seen(1), np.array([age]), np.array([0.0]))
    chance, clean = one_chance((age, horizon), look, windows, life, speed)
    unseen, _ = open_beyond(np.array([age]), np.array([horizon]), windows, life, np.array([[speed]]))
    assert chance * clean == pytest.approx(float(unseen[0, 0]), rel=1e-10)


def test_a_look_today_joins_the_looks_before_it():
    looks, miss = looks_at([7.0, 8.0], [[0.5, 0.2], [0.4, 0.1]]), np.array([0.3, 0.2])
    joined = with_look_today(looks, np.array([9.0]), miss)
    assert joined.age.tolist() == [[7.0, 8.0, 9.0]]
    assert joined.miss[0].tolist() == [[0.5, 0.2], [0.4, 0.1], [0.3, 0.2]]
