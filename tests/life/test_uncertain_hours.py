"""Hours nobody is sure of: three points against brute-force integration and simulated boats, and the closed limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.life.clocks import THREE_POINTS, chance_by_hours, chance_by_uncertain_hours

SD = 0.5
# name: shape, scale (hours), metered hours, years no meter tells of, years ahead, hours a year. All our own.
CASES = {
    "new": (2.5, 900.0, 0.0, 0.0, 1.0, 100.0),
    "by the meter": (2.5, 900.0, 400.0, 0.0, 1.0, 100.0),
    "by its age alone": (2.5, 900.0, 0.0, 4.0, 1.0, 100.0),
    "worn": (3.0, 900.0, 0.0, 8.0, 1.0, 100.0),
    "a hard case": (4.0, 600.0, 0.0, 6.0, 0.5, 120.0),
    "early failures": (0.8, 5000.0, 0.0, 3.0, 1.0, 60.0),
}


def life_of(shape, scale):
    return np.array([shape]), np.array([np.log(scale)])


def chance_of(case, sd=SD):
    shape, scale, *years, rate = case
    metered, unmetered, ahead = (np.array([value]) for value in years)
    chance = chance_by_uncertain_hours(
        (metered, unmetered), ahead, np.array([rate]), sd, life_of(shape, scale)
    )
    return float(chance[0, 0])


def by_brute_force(case, sd=SD):
    shape, scale, metered, unmetered, ahead, rate = case
    deviates = np.linspace(-8, 8, 20_001)
    weight = np.exp(-0.5 * deviates**2)
    hourly = rate * np.exp(sd * deviates)
    chance = chance_by_hours(
        (metered + unmetered * hourly)[:, None], (ahead * hourly)[:, None], *life_of(shape, scale)
    )
    return float(weight @ chance[:, 0] / weight.sum())


def test_the_three_points_are_the_rule_of_gauss_and_hermite():
    points, weights = np.polynomial.hermite_e.hermegauss(3)
    ours = sorted(THREE_POINTS)
    assert [deviate for deviate, _ in ours] == pytest.approx(points, abs=1e-12)
    assert [weight for _, weight in ours] == pytest.approx(weights / weights.sum(), rel=1e-12)


@pytest.mark.parametrize("name", CASES)
def test_three_points_are_close_to_brute_force(name):
    # Three points are good to a few per cent of the chance at the trade's spread of hours.
    found, exact = chance_of(CASES[name]), by_brute_force(CASES[name])
    print(f"{name}: {found:.5f}, in full {exact:.5f}")
    assert found == pytest.approx(exact, rel=0.05, abs=0.002)


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("sd", [0.1, 0.2])
def test_a_narrow_spread_is_integrated_nearly_exactly(name, sd):
    assert chance_of(CASES[name], sd) == pytest.approx(by_brute_force(CASES[name], sd), rel=5e-3)


@pytest.mark.parametrize("name", CASES)
def test_it_agrees_with_simulated_boats(name):
    shape, scale, metered, unmetered, ahead, rate = CASES[name]
    rng, number = np.random.default_rng(17), 400_000
    hourly = rate * np.exp(SD * rng.normal(size=number))
    run = metered + unmetered * hourly
    # Whole so far, whatever it has run: the next hours are what ends it.
    hours = scale * ((run / scale) ** shape + rng.exponential(size=number)) ** (1 / shape)
    share = (hours <= run + ahead * hourly).mean()
    error = np.sqrt(share * (1 - share) / number)
    assert abs(by_brute_force(CASES[name]) - share) < 3 * error
    assert chance_of(CASES[name]) == pytest.approx(share, rel=0.05, abs=0.002 + 3 * error)


@pytest.mark.parametrize("name", CASES)
def test_sure_hours_are_one_chance(name):
    shape, scale, metered, unmetered, ahead, rate = CASES[name]
    run = np.array([[metered + unmetered * rate]])
    sure = chance_by_hours(run, np.array([[ahead * rate]]), *life_of(shape, scale))
    assert chance_of(CASES[name], 0.0) == pytest.approx(float(sure[0, 0]), rel=1e-12)


def test_small_chances_at_a_constant_rate_follow_the_mean_of_the_log_normal():
    # 1 - exp(-r h / eta) is r h / eta when small, and E r = rate exp(sd**2 / 2).
    mean = 100 * np.exp(SD**2 / 2) / 1e8
    assert chance_of((1.0, 1e8, 300.0, 2.0, 1.0, 100.0)) == pytest.approx(mean, rel=1e-3)


def test_a_meter_narrows_what_spread_there_is():
    # The same hours at the believed rate: told by a meter they are sure, and so less is spread.
    told, guessed = (2.5, 900.0, 400.0, 0.0, 1.0, 100.0), (2.5, 900.0, 0.0, 4.0, 1.0, 100.0)
    assert chance_of(told, 0.0) == pytest.approx(chance_of(guessed, 0.0), rel=1e-12)
    assert chance_of(told) < chance_of(guessed)


def test_parts_and_nodes_together_are_each_alone():
    cases = [CASES["by the meter"], CASES["worn"]]
    columns = [np.array(values) for values in zip(*(case[2:] for case in cases), strict=True)]
    life = np.array([2.5, 3.0]), np.log([900.0, 900.0])
    metered, unmetered, ahead, rate = columns
    both = chance_by_uncertain_hours((metered, unmetered), ahead, rate, SD, life)
    for n, case in enumerate(cases):
        for m in range(2):
            alone = chance_of((life[0][m], np.exp(life[1][m]), *case[2:]))
            assert both[n, m] == pytest.approx(alone, rel=1e-12)


@given(
    st.floats(0.7, 4),
    st.floats(50, 5000),
    st.floats(0, 2000),
    st.floats(0, 20),
    st.floats(0.05, 3),
    st.floats(1, 500),
)
def test_it_is_a_chance_and_grows_with_the_time_ahead(shape, scale, metered, unmetered, ahead, rate):
    near, far = (chance_of((shape, scale, metered, unmetered, time, rate)) for time in (ahead, 1.5 * ahead))
    assert 0 <= near <= far + 1e-12
    assert far <= 1 + 1e-12
