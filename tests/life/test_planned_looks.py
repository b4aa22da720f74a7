"""Planned looks: against simulated parts, against looks already made, in the limits, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from riskmodel.errors import ParameterError
from riskmodel.hypercube import WIDTH_90
from riskmodel.life.looks import (
    BEST_DETECTION,
    Looks,
    chance_after_looks,
    detection_nodes,
    open_beyond,
    window_nodes,
    with_look_today,
)
from riskmodel.life.planned import PlannedLooks, chance_with_planned_looks
from riskmodel.life.weibull import failure_probability

# name: (shape, scale, age, horizon), looks on record as (age, detection range), times of planned looks and their
# detection, window range, how fast it ages. All our own.
CASES = {
    "one look today": ((3.0, 14.0, 9.0, 1.0), [], [0.0], (0.5, 0.8), (0.25, 1.5), 1.0),
    "a routine after a glance": (
        (2.5, 10.0, 8.0, 2.0),
        [(7.5, (0.2, 0.5))],
        [0.0, 0.5, 1.0, 1.5],
        (0.6, 0.9),
        (0.3, 2.0),
        1.0,
    ),
    "the same hand as before": (
        (2.2, 20.0, 15.0, 3.0),
        [(13.0, (0.1, 0.4)), (14.0, (0.1, 0.4)), (15.0, (0.1, 0.4))],
        [0.5, 1.5, 2.5],
        (0.1, 0.4),
        (1.0, 6.0),
        1.0,
    ),
    "ageing at twice the pace": (
        (3.0, 14.0, 5.0, 2.0),
        [(4.5, (0.5, 0.8))],
        [0.25, 1.0],
        (0.4, 0.7),
        (0.5, 3),
        2.0,
    ),
    "early failures": ((0.8, 6.0, 2.0, 2.0), [], [0.0, 1.0], (0.5, 0.8), (0.1, 0.8), 1.0),
}


def life_of(shape, scale):
    return np.array([shape]), np.array([np.log(scale)])


def plan_of(times, *detections):
    """One plan for each array of detection levels."""
    return PlannedLooks(
        np.array(times, dtype=float), np.stack([np.stack([1.0 - r] * len(times)) for r in detections])
    )


def looks_at(seen):
    if not seen:
        return None
    return Looks(
        np.array([[at for at, _ in seen]]), np.array([[1 - detection_nodes(*span) for _, span in seen]])
    )


def chances_of(case):
    """(lets go unfound, found, found and then lets go as new) of a case."""
    (shape, scale, age, horizon), seen, times, span, window, speed = case
    found = chance_with_planned_looks(
        (np.array([age]), np.array([horizon])),
        looks_at(seen),
        plan_of(times, detection_nodes(*span)),
        window_nodes(*window),
        life_of(shape, scale),
        np.array([[speed]]),
    )
    return [float(each[0, 0, 0]) for each in (found.lets_go, found.found, found.renewed_lets_go)]


def beta_of(low, high):
    mean, sd = 0.5 * (low + high), (high - low) / WIDTH_90
    worth = max(mean * (1 - mean) / sd**2 - 1, 1 / mean, 1 / (1 - mean))
    return stats.beta(mean * worth, (1 - mean) * worth)


def simulated(case, number, seed):
    """Outcomes (parts that were clean so far) of a case: lets go unfound, found, found and then lets go as new."""
    (shape, scale, age, horizon), seen, times, span, (low, high), speed = case
    rng = np.random.default_rng(seed)
    hazard = (age * speed / scale) ** shape + rng.exponential(size=number)
    let_go = scale * hazard ** (1 / shape) / speed
    sd = np.log(high / low) / WIDTH_90
    opened = let_go - np.exp(rng.normal(0.5 * np.log(low * high), sd, number)) / speed
    # One eye for all looks at a part: where it stands among looks of each thoroughness is one draw.
    eye = rng.uniform(size=number)
    clean = np.ones(number, dtype=bool)
    for at, detection in seen:
        sight = np.minimum(beta_of(*detection).ppf(eye), BEST_DETECTION)
        clean &= ~((rng.uniform(size=number) < sight) & (opened <= at))
    sight = np.minimum(beta_of(*span).ppf(eye), BEST_DETECTION)
    renewed = np.full(number, np.inf)
    for after in times:
        open_then = (opened <= age + after) & (let_go > age + after)
        hit = np.isinf(renewed) & open_then & (rng.uniform(size=number) < sight)
        renewed[hit] = age + after
    found = np.isfinite(renewed)
    lost = ~found & (let_go <= age + horizon)
    again = renewed + scale * rng.weibull(shape, number) / speed <= age + horizon
    return [outcome[clean] for outcome in (lost, found, found & again)]


def assert_agrees(name, number, seed):
    for found, outcome in zip(chances_of(CASES[name]), simulated(CASES[name], number, seed), strict=True):
        share = outcome.mean()
        error = np.sqrt(share * (1 - share) / len(outcome))
        print(f"{name}: {found:.5f}, simulated {share:.5f} ± {error:.5f}")
        assert abs(found - share) < 3 * max(error, 1 / len(outcome))


@pytest.mark.parametrize("name", CASES)
def test_planned_looks_agree_with_two_hundred_thousand_simulated_parts(name):
    assert_agrees(name, 200_000, seed=70)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_planned_looks_agree_with_a_million_simulated_parts(name):
    assert_agrees(name, 1_000_000, seed=90)


def test_without_planned_looks_it_is_the_chance_after_the_looks_made():
    windows, life = window_nodes(0.5, 3), life_of(3, 12)
    looks = looks_at([(7.0, (0.2, 0.5)), (8.5, (0.6, 0.9))])
    times = np.array([9.0]), np.array([2.0])
    none = PlannedLooks(np.zeros(0), np.ones((1, 0, 41)))
    found = chance_with_planned_looks(times, looks, none, windows, life)
    chance, clean = chance_after_looks(*times, looks, windows, life)
    assert found.lets_go[0] == pytest.approx(chance, rel=1e-10)
    assert found.unplanned == pytest.approx(chance, rel=1e-10)
    assert found.clean == pytest.approx(clean, rel=1e-12)
    assert (found.found, found.renewed_lets_go) == (0, 0)


def test_without_any_look_it_is_the_plain_weibull():
    times, life = (np.array([0.0, 6.0]), np.array([1.0, 2.0])), (np.array([0.8, 3.0]), np.log([9.0, 14.0]))
    blind = plan_of([0.0, 0.5], np.zeros(41))
    found = chance_with_planned_looks(times, None, blind, window_nodes(0.5, 3), life)
    plain = failure_probability(times[0][:, None], times[1][:, None], *life)
    assert found.unplanned == pytest.approx(plain, rel=1e-9)
    assert found.lets_go[0] == pytest.approx(plain, rel=1e-9)
    assert found.found == pytest.approx(0, abs=1e-14)


@pytest.mark.parametrize("detection", [0.3, 0.6, 0.9])
def test_one_look_today_averts_its_detection_of_what_shows_today(detection):
    # No look on record, so that nothing is shared: the share averted is r times the share whose window stands open.
    age, horizon, windows, life = np.array([9.0]), np.array([1.5]), window_nodes(0.3, 3), life_of(3, 12)
    found = chance_with_planned_looks(
        (age, horizon), None, plan_of([0.0], np.array([detection])), windows, life
    )
    unseen, _ = open_beyond(age, horizon, windows, life, np.ones((1, 1)))
    seen = 1 - unseen / found.unplanned
    assert 1 - found.lets_go[0] / found.unplanned == pytest.approx(detection * seen, rel=1e-9)


def test_a_look_today_misses_what_it_would_have_missed_had_it_been_made():
    # P(lets go, the look misses) = P(lets go | the look was clean too) P(it is clean | those before were).
    age, horizon, windows, life = np.array([9.0]), np.array([1.5]), window_nodes(0.3, 3), life_of(3, 12)
    looks, detection = looks_at([(8.0, (0.2, 0.5)), (8.8, (0.6, 0.9))]), detection_nodes(0.5, 0.8)
    found = chance_with_planned_looks((age, horizon), looks, plan_of([0.0], detection), windows, life)
    chance, clean = chance_after_looks(
        age, horizon, with_look_today(looks, age, 1 - detection), windows, life
    )
    assert found.lets_go[0] == pytest.approx(chance * clean / found.clean, rel=1e-10)
    assert found.found[0] == pytest.approx(1 - clean / found.clean, rel=1e-10)


def test_misses_that_repeat_make_a_routine_worth_less_than_strangers_looks():
    times, windows, life = (np.array([9.0]), np.array([2.0])), window_nodes(1, 5), life_of(3, 12)
    ahead = [0.0, 0.5, 1.0, 1.5]
    same = np.array([0.1, 0.9])
    together = chance_with_planned_looks(times, None, plan_of(ahead, same), windows, life)
    strangers = chance_with_planned_looks(times, None, plan_of(ahead, np.full(2, 0.5)), windows, life)
    assert strangers.lets_go < together.lets_go < together.unplanned
    assert strangers.found > together.found


def test_after_clean_looks_of_one_hand_its_next_look_is_worth_less():
    # The window is long: had the hand been a good one, it would have found it open before.
    times, windows, life = (np.array([9.0]), np.array([1.0])), window_nodes(2, 6), life_of(3, 12)
    plan = plan_of([0.0], np.array([0.1, 0.9]))
    shared = Looks(np.array([[8.5, 8.9]]), np.array([[[0.9, 0.1]] * 2]))
    strangers = Looks(np.array([[8.5, 8.9]]), np.array([[[0.5, 0.5]] * 2]))
    left = [
        chance_with_planned_looks(times, looks, plan, windows, life) for looks in (None, strangers, shared)
    ]
    none, by_others, by_the_same = (float((each.lets_go[0] / each.unplanned)[0, 0]) for each in left)
    assert by_the_same > by_others
    assert by_the_same > none


def test_plans_side_by_side_are_each_alone():
    times, windows, life = (np.array([9.0]), np.array([2.0])), window_nodes(0.5, 3), life_of(3, 12)
    looks, slight, close = looks_at([(8.0, (0.2, 0.5))]), detection_nodes(0.2, 0.5), detection_nodes(0.6, 0.9)
    ahead = [0.0, 1.0]
    both = chance_with_planned_looks(times, looks, plan_of(ahead, slight, close), windows, life)
    for number, detection in enumerate((slight, close)):
        alone = chance_with_planned_looks(times, looks, plan_of(ahead, detection), windows, life)
        for name in ("lets_go", "found", "renewed_lets_go"):
            assert getattr(both, name)[number] == pytest.approx(getattr(alone, name)[0], rel=1e-12)


def test_a_look_left_out_of_a_plan_is_no_look():
    times, windows, life = (np.array([9.0]), np.array([2.0])), window_nodes(0.5, 3), life_of(3, 12)
    miss = 1 - detection_nodes(0.6, 0.9)
    left_out = PlannedLooks(np.array([0.0, 1.0]), np.array([[miss, np.ones(41)]]))
    only = PlannedLooks(np.array([0.0]), np.array([[miss]]))
    for name in ("lets_go", "found", "renewed_lets_go"):
        got, wanted = (
            getattr(chance_with_planned_looks(times, None, plan, windows, life), name)
            for plan in (left_out, only)
        )
        assert got == pytest.approx(wanted, rel=1e-10)


def test_parts_and_nodes_together_are_each_alone():
    windows, life = window_nodes(0.5, 3), (np.array([1.5, 3.0]), np.log([12.0, 9.0]))
    age, horizon, speed = np.array([8.0, 5.0]), np.array([2.0, 1.0]), np.array([[0.7], [1.6]])
    miss = 1 - detection_nodes(0.5, 0.8)
    looks = Looks(np.array([[-np.inf, 7.0], [3.0, 4.5]]), np.ones((2, 2, 1)) * miss)
    ahead = horizon[:, None] * np.array([0.0, 0.5])
    planned = PlannedLooks(ahead, np.array([[miss, miss]]))
    both = chance_with_planned_looks((age, horizon), looks, planned, windows, life, speed)
    for n in range(2):
        for m in range(2):
            alone = chance_with_planned_looks(
                (age[n : n + 1], horizon[n : n + 1]),
                Looks(looks.age[n : n + 1], looks.miss[n : n + 1]),
                PlannedLooks(ahead[n], planned.miss),
                windows,
                (life[0][m : m + 1], life[1][m : m + 1]),
                speed[n : n + 1],
            )
            for name in ("lets_go", "found", "renewed_lets_go"):
                assert getattr(both, name)[0, n, m] == pytest.approx(getattr(alone, name)[0, 0, 0], rel=1e-12)


def test_no_parts_have_no_chances():
    none = np.zeros(0)
    found = chance_with_planned_looks(
        (none, none), None, plan_of([0.0], np.array([0.5])), window_nodes(0.5, 3), life_of(3, 12)
    )
    assert found.lets_go.shape == (1, 0, 1)
    assert found.unplanned.shape == (0, 1)


def test_the_renewed_part_is_a_second_order():
    # Looked at as well, it would let go less often; it hardly lets go at all within the season it is new.
    lets_go, found, again = chances_of(CASES["a routine after a glance"])
    assert again < 0.02 * found
    assert again < 0.05 * lets_go


@st.composite
def plans(draw):
    """A part, a plan of looks at it, and a plan with one look more; all at one hand's detection."""
    shape, scale = draw(st.floats(0.7, 4)), draw(st.floats(3, 40))
    age, horizon = draw(st.floats(0, 30)), draw(st.floats(0.1, 4))
    places = sorted(draw(st.lists(st.floats(0, 0.95), min_size=1, max_size=5)))
    left_out = draw(st.integers(0, len(places) - 1))
    low = draw(st.floats(0.01, 2))
    window = low, low * draw(st.floats(1, 12))
    detection = detection_nodes(*sorted(draw(st.tuples(st.floats(0, 0.95), st.floats(0, 0.95)))))
    ages = sorted(draw(st.lists(st.floats(0, 1), max_size=3)))
    looks = Looks(np.array([ages]) * age, np.ones((1, len(ages), 1)) * (1 - detection)) if ages else None
    miss = np.array([[1 - detection] * len(places)] * 2)
    miss[0, left_out] = 1.0
    planned = PlannedLooks(np.array(places) * horizon, miss)
    return (
        (np.array([age]), np.array([horizon])),
        looks,
        planned,
        window_nodes(*window),
        life_of(shape, scale),
    )


@given(plans())
def test_one_more_planned_look_never_leaves_more_to_let_go_unfound(asked):
    found = chance_with_planned_looks(*asked)
    fewer, more = found.lets_go[:, 0, 0]
    assert 0 <= more <= fewer + 1e-12
    assert fewer <= found.unplanned[0, 0] + 1e-12


@given(plans())
def test_chances_of_all_that_may_happen_stay_within_one(asked):
    found = chance_with_planned_looks(*asked)
    total = (found.lets_go + found.found)[:, 0, 0]
    assert ((total >= 0) & (total <= 1 + 1e-12)).all()
    assert (found.renewed_lets_go <= found.found + 1e-12).all()
    # Whatever looking prevents it has found.
    assert (found.unplanned - found.lets_go <= found.found + 1e-9).all()


@pytest.mark.parametrize("times", [[0.5, 0.2], [-0.1], [0.0, 1.0], [2.0]])
def test_planned_looks_come_in_order_before_the_end(times):
    with pytest.raises(ParameterError, match="planned looks must come in order, from today to before"):
        chance_with_planned_looks(
            (np.array([5.0]), np.array([1.0])),
            None,
            plan_of(times, np.array([0.5])),
            window_nodes(0.5, 3),
            life_of(3, 12),
        )
