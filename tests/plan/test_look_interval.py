"""Looks over a part's life: against planned looks, against simulated parts, in the limits, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import ParameterError
from riskmodel.life.looks import Windows, detection_nodes, window_nodes
from riskmodel.life.planned import PlannedLooks, chance_with_planned_looks
from riskmodel.plan.intervals.look_interval import CHOICES, Outlay, cycle_of, seen_ending, unseen_ending
from riskmodel.plan.intervals.replacement import replacement_cost_rate
from riskmodel.plan.intervals.wearing import Wear

# (shape, scale), renewed at, warning window, detection, years between looks. All our own.
CASES = {
    "a hose looked at twice a year": ((3.0, 14.0), 9.0, (0.25, 1.5), (0.5, 0.8), 0.5),
    "a gland looked at monthly": ((2.5, 10.0), 8.0, (0.3, 2.0), (0.6, 0.9), 1 / 12),
    "a rode looked at every other year": ((2.2, 30.0), 20.0, (2.0, 15.0), (0.35, 0.65), 2.0),
    "a pump tested quarterly": ((1.0, 7.0), 7.0, (0.25, 1.0), (0.85, 0.97), 0.25),
    "an early failure": ((0.8, 6.0), 5.0, (0.1, 0.8), (0.5, 0.8), 1.0),
}
PERFECT = np.zeros(1)
BLIND = np.ones(1)


def wear_of(shape, scale):
    return Wear(np.array([shape]), np.log([scale]), np.ones(1))


def looks_before(end, interval):
    """Times of the looks of a cycle: the one at its end is the renewal itself."""
    return interval * np.arange(1, int(np.ceil(end / interval - 1e-9)))


@pytest.fixture(params=CASES, ids=str)
def case(request):
    life, renewed, window, detection, interval = CASES[request.param]
    windows = window_nodes(*window, 9)
    return life, cycle_of(wear_of(*life), renewed, windows), 1.0 - detection_nodes(*detection), interval


def test_chances_are_those_of_planned_looks(case):
    life, cycle, miss, interval = case
    ahead = looks_before(cycle.renewed, interval)
    planned = chance_with_planned_looks(
        (np.zeros(1), np.array([cycle.renewed])),
        None,
        PlannedLooks(ahead, np.broadcast_to(miss, (1, len(ahead), len(miss)))),
        cycle.windows,
        (np.array([life[0]]), np.log([life[1]])),
    )
    found = seen_ending(cycle, miss, interval)
    assert found.lets_go == pytest.approx(planned.lets_go[0, 0], rel=0.02)
    assert found.found == pytest.approx(planned.found[0, 0], rel=0.02)


def simulated(case, seen):
    """Chance of letting go and of a finding, mean length and mean time dead of 300,000 cycles."""
    (shape, scale), cycle, miss, interval = case
    rng = np.random.default_rng(20)
    fails = scale * rng.weibull(shape, 300_000)
    opens = fails - rng.choice(cycle.windows.length, len(fails), p=cycle.windows.weight)
    misses = rng.choice(miss, len(fails))
    length = np.minimum(fails, cycle.renewed) if seen else np.full(len(fails), cycle.renewed)
    going = np.ones(len(fails), dtype=bool)
    for look in looks_before(cycle.renewed, interval):
        to_find = (opens <= look) & (look < fails) if seen else fails <= look
        finds = going & to_find & (rng.random(len(fails)) > misses)
        length[finds] = look
        going &= ~finds
    gone = (going & (fails < cycle.renewed)).mean() if seen else 0.0
    dead = np.maximum(length - fails, 0.0).mean()
    return np.array([gone, (~going).mean(), length.mean(), dead])


@pytest.mark.parametrize("seen", [True, False], ids=["seen", "unseen"])
def test_cycles_end_as_simulated_ones_do(case, seen):
    life, cycle, miss, interval = case
    if seen:
        ending = seen_ending(cycle, miss, interval)
    else:
        ending = unseen_ending(cycle_of(wear_of(*life), cycle.renewed), miss, interval)
    found = np.concatenate([ending.lets_go, ending.found, ending.length, ending.dead])
    assert found == pytest.approx(simulated(case, seen), rel=0.02, abs=2e-3)


@pytest.mark.parametrize("renewed", [2.0, 9.0, 30.0])
def test_without_looks_costs_are_those_of_age_replacement(renewed):
    cycle = cycle_of(wear_of(3.0, 14.0), renewed, window_nodes(0.25, 1.5, 9))
    found = seen_ending(cycle, BLIND, np.inf).cost_rate(Outlay(1.0, 2.0, 9.0))
    assert found == pytest.approx(replacement_cost_rate(renewed, (3.0, 14.0), (1.0, 9.0)), rel=1e-4)


def test_looks_that_see_nothing_change_nothing():
    cycle = cycle_of(wear_of(3.0, 14.0), 9.0, window_nodes(0.25, 1.5, 9))
    blind, none = seen_ending(cycle, BLIND, 0.5), seen_ending(cycle, BLIND, np.inf)
    assert blind.lets_go == pytest.approx(none.lets_go)
    assert blind.length == pytest.approx(none.length)
    assert blind.found == pytest.approx(0.0, abs=1e-12)


def test_perfect_looks_closer_than_the_window_miss_none():
    window = Windows(np.array([1.0]), np.ones(1))
    ending = seen_ending(cycle_of(wear_of(3.0, 14.0), 9.0, window), PERFECT, 0.5)
    # Parts that let go before the first look cannot have been seen.
    assert ending.lets_go == pytest.approx(-np.expm1(-((0.5 / 14.0) ** 3)), rel=0.1)


def test_perfect_tests_leave_half_an_interval_dead():
    # published: with failures at a constant low rate mean unavailability is half the rate times the interval.
    rate, interval = 0.01, 0.25
    ending = unseen_ending(cycle_of(wear_of(1.0, 1 / rate), 5.0), PERFECT, interval)
    assert ending.dead / ending.length == pytest.approx(0.5 * rate * interval, rel=0.02)


def test_untested_parts_are_dead_until_they_are_renewed():
    ending = unseen_ending(cycle_of(wear_of(1.0, 10.0), 5.0), PERFECT, np.inf)
    assert ending.length == pytest.approx(5.0)
    assert ending.found == pytest.approx(0.0)
    assert ending.dead == pytest.approx(5.0 - 10.0 * -np.expm1(-0.5), rel=1e-4)


def test_every_dead_year_is_paid_for():
    ending = unseen_ending(cycle_of(wear_of(1.0, 10.0), 5.0), PERFECT, 1.0)
    dear, cheap = (ending.cost_rate(Outlay(1.0, 1.0, 0.0, each)) for each in (100.0, 0.0))
    assert dear - cheap == pytest.approx(100.0 * ending.dead / ending.length)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.7, 5.0), st.floats(2.0, 40.0), st.floats(1.0, 30.0), st.floats(0.0, 0.95))
def test_endings_are_chances_and_lengths(shape, scale, renewed, miss):
    seen = cycle_of(wear_of(shape, scale), renewed, window_nodes(0.2, 2.0, 9))
    unseen = cycle_of(wear_of(shape, scale), renewed)
    for interval in CHOICES:
        for ending in (
            seen_ending(seen, np.array([miss]), interval),
            unseen_ending(unseen, np.array([miss]), interval),
        ):
            assert -1e-9 <= ending.lets_go[0] <= 1.0 + 1e-9
            assert -1e-9 <= ending.found[0] <= 1.0 + 1e-9
            assert 0 < ending.length[0] <= renewed * (1 + 1e-9)
            assert -1e-9 <= ending.dead[0] <= ending.length[0] + 1e-9


@given(
    st.sampled_from([(1 / 12, 1 / 6), (1 / 6, 1 / 3), (0.25, 0.5), (0.5, 1.0), (1.0, 2.0)]),
    st.floats(0.0, 0.9),
)
def test_the_same_looks_and_more_between_never_leave_more_to_let_go(intervals, miss):
    cycle = cycle_of(wear_of(2.5, 12.0), 10.0, window_nodes(0.3, 2.0, 9))
    often, rarely = (seen_ending(cycle, np.array([miss]), each).lets_go[0] for each in intervals)
    assert often <= rarely + 1e-9


@pytest.mark.parametrize("interval", [0.0, -1.0, np.nan])
def test_an_interval_of_nothing_is_refused(interval):
    cycle = cycle_of(wear_of(2.0, 10.0), 5.0, window_nodes(0.3, 2.0, 9))
    for ending in (seen_ending, unseen_ending):
        with pytest.raises(ParameterError, match="interval must be above 0"):
            ending(cycle, PERFECT, interval)


@pytest.mark.parametrize("renewed", [0.0, -2.0, np.inf, np.nan])
def test_a_cycle_without_an_end_is_refused(renewed):
    with pytest.raises(ParameterError, match="age of renewal must be above 0 and finite"):
        cycle_of(wear_of(2.0, 10.0), renewed)
