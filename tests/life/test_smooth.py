"""A grid told from a few of its points: as good as the grid, or not used."""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, blocks
from riskmodel.life import posterior as posterior_module
from riskmodel.life.likelihood import slope
from riskmodel.life.posterior import find_mode, posterior
from riskmodel.life.smooth import POINTS, over_grid
from riskmodel.life.tally import tally_rows

LOG_SHAPE = np.linspace(0.5, 1.1, 41)
LOG_AGE = 1.5 + 0.3 * LOG_SHAPE[:, None] + np.linspace(-0.2, 0.2, 41)


class Watched:
    """A function of a grid that remembers how many points it was asked for."""

    def __init__(self, function):
        self.function, self.points = function, 0

    def __call__(self, log_shape, log_age):
        self.points += log_age.size
        return self.function(log_shape[:, None], log_age)


def quartic(x, y):
    return 3 - 50 * (x - 0.8) ** 2 + 7 * x * y**3 - y**4


def wavy(x, y):
    return np.sin(4 * x) * np.cos(3 * y) * 20


def rough(x, y):
    return np.abs(x - 0.77) + 0 * y


def test_a_polynomial_is_told_from_the_fewest_points():
    watched = Watched(quartic)
    found = over_grid(watched, LOG_SHAPE, LOG_AGE)
    assert found == pytest.approx(quartic(LOG_SHAPE[:, None], LOG_AGE), abs=1e-10)
    assert watched.points == POINTS[0] ** 2 + 9


def test_a_livelier_function_takes_more_points_and_is_as_good():
    watched = Watched(wavy)
    found = over_grid(watched, LOG_SHAPE, LOG_AGE)
    assert found == pytest.approx(wavy(LOG_SHAPE[:, None], LOG_AGE), abs=1e-6)
    assert POINTS[1] ** 2 < watched.points < LOG_AGE.size / 3


def test_a_rough_function_is_taken_in_full():
    watched = Watched(rough)
    assert over_grid(watched, LOG_SHAPE, LOG_AGE).tolist() == rough(LOG_SHAPE[:, None], LOG_AGE).tolist()
    assert watched.points > LOG_AGE.size


def test_a_line_of_nodes_is_taken_in_full():
    watched = Watched(quartic)
    line = LOG_AGE[:1]
    assert over_grid(watched, LOG_SHAPE[:1], line).tolist() == quartic(LOG_SHAPE[:1, None], line).tolist()
    assert watched.points == line.size


def looks_on_any_day(number, seed=4):
    random = np.random.default_rng(seed)
    age = np.floor(14 * random.weibull(2.4, number) * 365.25) + 1
    before, after = random.integers(1, 300, (2, number))
    return LifeRows(np.maximum(age - before, 0) / 365.25, (age + after) / 365.25)


@pytest.mark.parametrize("number", [600, 3000, 20_000])
@pytest.mark.parametrize("prior", [WeibullPrior.from_interval(5), WeibullPrior.flat()], ids=["trade", "flat"])
def test_a_posterior_of_many_intervals_is_that_of_the_full_grid(number, prior, monkeypatch):
    tally = tally_rows(looks_on_any_day(number))
    assert len(tally.pairs) > posterior_module.MANY_PAIRS
    quick = posterior(tally, prior)
    monkeypatch.setattr(posterior_module, "MANY_PAIRS", np.inf)
    full = posterior(tally, prior)
    for axis in ("log_shape", "log_age"):
        one, other = (nodes.weight @ getattr(nodes, axis) for nodes in (quick, full))
        assert one == pytest.approx(other, abs=1e-8)
    assert quick.weight == pytest.approx(full.weight, abs=1e-9)


def test_a_mode_found_by_way_of_a_thinned_tally_is_the_mode(monkeypatch):
    tally = tally_rows(looks_on_any_day(3000))
    usual, _ = find_mode(tally, WeibullPrior.flat())
    monkeypatch.setattr(posterior_module, "THIN_ABOVE", 100)
    thinned, here = find_mode(tally, WeibullPrior.flat())
    assert thinned == pytest.approx(usual, abs=1e-9)
    assert np.abs(here.gradient).max() < 1e-5


def test_slopes_summed_a_block_at_a_time_are_the_slopes(monkeypatch):
    tally, prior, point = (
        tally_rows(looks_on_any_day(1000)),
        WeibullPrior.from_interval(5),
        np.array([0.8, 1.7]),
    )
    whole = slope(tally, prior, point)
    monkeypatch.setattr(blocks, "BLOCK", 64)
    parts = slope(tally, prior, point)
    assert parts.value == pytest.approx(whole.value, rel=1e-12)
    assert parts.gradient == pytest.approx(whole.gradient, rel=1e-10)
    assert parts.hessian == pytest.approx(whole.hessian, rel=1e-10)
