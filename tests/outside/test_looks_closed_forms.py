"""Clean looks against the closed forms of delay-time analysis (Christer & Waller 1984).

There defects arrive at a constant rate, each lets go after an exponential delay of mean m, a look comes every T; b(T)
is the share of defects that let go before a look finds them. Here the same is said of one part: letting go has a
constant rate (shape 1) so low that nothing lets go twice, and the warning window before it is the delay. Looked over
at age a, clean, the next look due at a + T: a failure at t escapes both looks when its window is shorter than t - a,

    P(lets go in T | clean) * P(clean) / P(lets go in T) = (1/T) integral_0^T P(W < s) ds = 1 - (m/T)(1 - exp(-T/m)).
"""

import numpy as np
import pytest
from scipy import stats

from riskmodel.hypercube import WIDTH_90
from riskmodel.life.looks import Looks, Windows, chance_after_looks, open_beyond, window_nodes
from riskmodel.life.planned import PlannedLooks, chance_with_planned_looks

RATE = 1e-7
LIFE = np.array([1.0]), np.array([-np.log(RATE)])
AGE, MEAN = 200.0, 5.0


def delays(every, panels=30, points=12):
    """Windows with the exponential's own weights, exact where a look cuts them: Gauss-Legendre between looks."""
    nodes, weights = np.polynomial.legendre.leggauss(points)
    start = np.arange(panels)[:, None] * every
    length = (start + 0.5 * every * (nodes + 1)).ravel()
    density = np.exp(-length / MEAN) / MEAN * np.tile(0.5 * every * weights, panels)
    last = panels * every
    return Windows(np.append(length, 2 * last), np.append(density, np.exp(-last / MEAN)))


def escaping(looks, every, windows):
    """Share of the failures due in one interval that these looks, all clean, do not rule out."""
    chance, clean = chance_after_looks(np.array([AGE]), np.array([every]), looks, windows, LIFE)
    return float((chance * clean / -np.expm1(-RATE * every))[0, 0])


def looks_every(every, number, miss):
    ages = AGE - every * np.arange(number)[::-1]
    return Looks(ages[None, :], np.full((1, number, 1), miss))


@pytest.mark.parametrize(("every", "share"), [(1, 0.093653765390), (5, 0.367879441171), (10, 0.567667641618)])
def test_perfect_looks_leave_the_share_that_delay_time_analysis_says(every, share):
    # b(T) = 1 - (m/T)(1 - exp(-T/m)), m = 5.
    assert escaping(looks_every(every, 1, 0.0), every, delays(every)) == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize(("every", "share"), [(1, 0.093653765390), (5, 0.367879441171), (10, 0.567667641618)])
def test_failures_without_a_warning_showing_today_are_that_share(every, share):
    unseen, _ = open_beyond(np.array([AGE]), np.array([float(every)]), delays(every), LIFE, np.ones((1, 1)))
    assert float(unseen[0, 0]) / -np.expm1(-RATE * every) == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize("detection", [0.2, 0.5, 0.9])
@pytest.mark.parametrize("number", [1, 2, 4])
@pytest.mark.parametrize("every", [1.0, 5.0])
def test_looks_that_miss_by_chance_leave_the_geometric_sum(detection, number, every):
    # A defect open at j looks escapes them all with (1 - r)**j: with x = exp(-T/m) the share that escapes is
    # b + (1 - b) * (sum over j < n of (1 - x) x**(j-1) (1 - r)**j, and x**(n-1) (1 - r)**n for those older).
    x = np.exp(-every / MEAN)
    b = 1 - MEAN / every * (1 - x)
    j = np.arange(1, number)
    open_at = ((1 - x) * x ** (j - 1) * (1 - detection) ** j).sum()
    share = b + (1 - b) * (open_at + x ** (number - 1) * (1 - detection) ** number)
    looks = looks_every(every, number, 1 - detection)
    assert escaping(looks, every, delays(every)) == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize("every", [0.3, 1.0, 4.0])
def test_a_log_normal_delay_gives_its_partial_expectation(every):
    # (1/T) E[(T - W)+], from scipy's log-normal; the window rule of 25 lengths is good to half a per cent of the share.
    low, high = 0.25, 3.0
    delay = stats.lognorm(np.log(high / low) / WIDTH_90, scale=np.sqrt(low * high))
    share = delay.expect(lambda w: every - w, ub=every) / every
    assert escaping(looks_every(every, 1, 0.0), every, window_nodes(low, high)) == pytest.approx(
        share, abs=0.005
    )


def with_planned_looks(every, number, detection):
    """Chances when ``number`` looks are planned, the first today and one every ``every``, up to the next one due."""
    planned = PlannedLooks(every * np.arange(number), np.full((1, number, 1), 1 - detection))
    times = np.array([AGE]), np.array([float(every * number)])
    return chance_with_planned_looks(times, None, planned, delays(every), LIFE)


@pytest.mark.parametrize(("every", "share"), [(1, 0.093653765390), (5, 0.367879441171), (10, 0.567667641618)])
@pytest.mark.parametrize("number", [1, 3, 6])
def test_perfect_planned_looks_leave_the_share_that_delay_time_analysis_says(every, number, share):
    # b(T) = 1 - (m/T)(1 - exp(-T/m)), m = 5, in every interval alike.
    found = with_planned_looks(every, number, 1.0)
    assert float((found.lets_go[0] / found.unplanned)[0, 0]) == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize(("every", "share"), [(1, 0.093653765390), (5, 0.367879441171), (10, 0.567667641618)])
def test_of_all_defects_that_arise_the_same_share_becomes_failures(every, share):
    # After the first look, which finds all that is open, each interval brings as many defects as any other: some let
    # go in it, the rest are found at its end.
    first, last = with_planned_looks(every, 1, 1.0), with_planned_looks(every, 6, 1.0)
    failures = float(last.lets_go[0, 0, 0]) * 5 / 6
    found = float(last.found[0, 0, 0] - first.found[0, 0, 0])
    assert failures / (failures + found) == pytest.approx(share, rel=1e-5)


@pytest.mark.parametrize("detection", [0.2, 0.5, 0.9])
@pytest.mark.parametrize("every", [1.0, 5.0])
def test_planned_looks_that_miss_by_chance_leave_the_geometric_sums(detection, every):
    # In the interval after look n what escapes is b + (1 - b) times the geometric sum of the test above.
    x, number = np.exp(-every / MEAN), 4
    b = 1 - MEAN / every * (1 - x)
    shares = []
    for n in range(1, number + 1):
        j = np.arange(1, n)
        open_at = ((1 - x) * x ** (j - 1) * (1 - detection) ** j).sum()
        shares.append(b + (1 - b) * (open_at + x ** (n - 1) * (1 - detection) ** n))
    found = with_planned_looks(every, number, detection)
    assert float((found.lets_go[0] / found.unplanned)[0, 0]) == pytest.approx(np.mean(shares), rel=1e-5)
