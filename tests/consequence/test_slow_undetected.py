"""How long a failure stays unseen: closed forms against sums, simulation and quadrature."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from riskmodel.consequence.slow.undetected import (
    DAYS_A_MONTH,
    Looks,
    hidden_months,
    noticing_rate,
    still_hidden,
)
from riskmodel.errors import ParameterError

# Long enough that nothing is left unseen worth counting.
FOREVER = np.array(1e5)
EVERY = st.floats(0.2, 36.0)
CHANCE = st.floats(0.0, 0.95)
RATE = st.floats(0.0, 2.0)
MONTHS = st.floats(0.0, 240.0)


def looks(every=12.0, chance=0.5, rate=0.0):
    return Looks(np.array(every), np.array(chance), np.array(rate))


def test_nothing_is_seen_at_the_moment_of_letting_go():
    assert still_hidden(np.array(0.0), looks()) == 1.0
    assert hidden_months(np.array(0.0), looks()) == 0.0


def test_the_chance_of_being_unseen_falls_geometrically_from_look_to_look():
    found = still_hidden(np.array([12.0, 24.0, 36.0]), looks(chance=0.3))
    assert found == pytest.approx([0.7, 0.49, 0.343])


def test_the_first_look_is_as_likely_at_any_moment_of_its_interval():
    assert still_hidden(np.array([3.0, 6.0, 9.0]), looks(chance=0.4)) == pytest.approx([0.9, 0.8, 0.7])


@pytest.mark.parametrize("chance", [0.05, 0.3, 0.7, 0.95])
def test_the_mean_without_visits_is_the_geometric_waiting_time(chance):
    # Looks needed are geometric with mean 1 / p; the first comes half an interval after letting go, on average.
    assert hidden_months(FOREVER, looks(every=6.0, chance=chance)) == pytest.approx(6.0 * (1 / chance - 0.5))


def test_the_mean_with_visits_alone_is_one_over_their_rate():
    assert hidden_months(FOREVER, looks(chance=0.0, rate=0.25)) == pytest.approx(4.0)


def test_what_nobody_can_see_stays_unseen():
    never = looks(chance=0.0, rate=0.0)
    assert still_hidden(np.array([1.0, 500.0]), never) == pytest.approx([1.0, 1.0])
    assert hidden_months(np.array([0.5, 30.0, 500.0]), never) == pytest.approx([0.5, 30.0, 500.0])


@given(MONTHS, EVERY, CHANCE, RATE)
def test_mean_months_are_the_integral_of_the_chance_of_being_unseen(months, every, chance, rate):
    here = looks(every, chance, rate)
    # Smooth between looks: Gauss-Legendre on each interval.
    nodes, weights = np.polynomial.legendre.leggauss(20)
    edges = np.minimum(np.arange(0.0, months + every, every), months)
    half = np.diff(edges)[:, None] / 2
    pieces = half * weights * still_hidden(edges[:-1, None] + half * (1 + nodes), here)
    assert float(hidden_months(np.array(months), here)) == pytest.approx(pieces.sum(), rel=1e-8, abs=1e-9)


@pytest.mark.parametrize("rate", [9.99e-4 / 12, 1.001e-3 / 12])
def test_the_series_and_the_closed_form_meet(rate):
    here = looks(chance=0.6, rate=rate)
    whole = quad(lambda t: float(still_hidden(np.array(t), here)), 0.0, 12.0 - 1e-12, epsabs=1e-13)[0]
    assert float(hidden_months(np.array(12.0), here)) == pytest.approx(whole, rel=1e-11)


def test_times_unseen_agree_with_simulation():
    rng = np.random.default_rng(20)
    count, every, chance, rate = 200_000, 6.0, 0.4, 0.05
    first = rng.uniform(0.0, every, count)
    by_look = first + every * (rng.geometric(chance, count) - 1)
    seen = np.minimum(by_look, rng.exponential(1 / rate, count))
    here = looks(every, chance, rate)
    assert float(hidden_months(FOREVER, here)) == pytest.approx(seen.mean(), rel=0.01)
    for months in (2.0, 8.0, 20.0):
        assert float(still_hidden(np.array(months), here)) == pytest.approx((seen > months).mean(), abs=0.005)
        assert float(hidden_months(np.array(months), here)) == pytest.approx(
            np.minimum(seen, months).mean(), rel=0.01
        )


@given(MONTHS, EVERY, st.tuples(CHANCE, CHANCE), st.tuples(RATE, RATE))
def test_a_better_look_and_more_visits_never_leave_it_longer_unseen(months, every, chances, rates):
    (worse, better), (fewer, more) = sorted(chances), sorted(rates)
    at = np.array(months)
    slow, quick = looks(every, worse, fewer), looks(every, better, more)
    assert still_hidden(at, quick) <= still_hidden(at, slow)
    assert hidden_months(at, quick) <= hidden_months(at, slow) * (1 + 1e-9) + 1e-12


@given(st.tuples(MONTHS, MONTHS), EVERY, CHANCE, RATE)
def test_more_time_never_makes_it_likelier_to_be_unseen(both, every, chance, rate):
    early, late = sorted(both)
    found = still_hidden(np.array([early, late]), looks(every, chance, rate))
    assert found[1] <= found[0]


@given(MONTHS, st.tuples(EVERY, EVERY), CHANCE, RATE)
def test_rarer_looks_never_shorten_the_mean(months, everies, chance, rate):
    often, seldom = sorted(everies)
    at = np.array(months)
    shorter = hidden_months(at, looks(often, chance, rate))
    assert hidden_months(at, looks(seldom, chance, rate)) >= shorter * (1 - 1e-9) - 1e-12


def test_fields_broadcast():
    here = Looks(np.full((3, 1), 6.0), np.array([0.2, 0.5]), np.zeros((3, 2)))
    assert still_hidden(np.array(4.0), here).shape == (3, 2)
    assert hidden_months(np.array(4.0), here).shape == (3, 2)


def test_weekly_visits_notice_a_little_more_often_than_their_number_times_the_chance():
    assert noticing_rate(np.array(0.1), np.array(7.0)) == pytest.approx(
        -np.log(0.9) * DAYS_A_MONTH / 7, rel=1e-12
    )


def test_a_month_of_visits_sees_what_that_many_single_visits_do():
    rate = noticing_rate(np.array(0.03), np.array(7.0))
    visits = DAYS_A_MONTH / 7
    assert np.exp(-rate) == pytest.approx(0.97**visits)


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("every", 0.0, "every_months must be above 0, got 0"),
        ("every", -1.0, "every_months must be 0 or more and finite, got -1.0"),
        ("chance", 1.0, "chance must be below 1, got 1.0"),
        ("chance", -0.1, "chance must be 0 or more and finite, got -0.1"),
        ("rate", np.nan, "noticed_a_month must be 0 or more and finite, got nan"),
    ],
)
def test_looks_that_cannot_be_are_refused(field, value, message):
    with pytest.raises(ParameterError, match=message):
        looks(**{field: value})


def test_months_before_letting_go_are_refused():
    with pytest.raises(ParameterError, match=r"months must be 0 or more and finite, got -1\.0"):
        still_hidden(np.array(-1.0), looks())
