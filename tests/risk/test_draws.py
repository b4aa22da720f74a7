"""Draws: one Latin hypercube, the same for the same seed and name, whose lives are those of the posterior."""

import numpy as np
import pytest

from riskmodel.life import LifeRows, WeibullPrior, fit_life
from riskmodel.risk.draws import DRAWS, Draws

NAMES = ["a", "loss/fire", "shaft_packing/shape", "owners"]


@pytest.fixture(scope="module")
def life():
    prior = WeibullPrior.from_shape_and_quantile(shape=(1.5, 4.0), quantile=(0.1, 3.0, 9.0))
    return fit_life(LifeRows([4.0, 6.0], [4.0, np.inf]), prior)


@pytest.mark.parametrize("name", NAMES)
def test_each_parameter_falls_once_in_every_stratum(name):
    drawn = Draws().uniform(name)
    assert sorted(np.floor(drawn * DRAWS).astype(int)) == list(range(DRAWS))


@pytest.mark.parametrize("name", NAMES)
def test_normals_have_mean_nought_and_spread_one(name):
    drawn = Draws().normal(name)
    assert drawn.mean() == pytest.approx(0, abs=1e-12)
    assert drawn.std() == pytest.approx(1, abs=0.01)


def test_the_same_name_and_seed_give_the_same_draws():
    assert (Draws(3).uniform("x") == Draws(3).uniform("x")).all()
    assert (Draws(3).uniform("x") != Draws(4).uniform("x")).any()


def test_different_parameters_are_all_but_independent():
    drawn = np.array([Draws().uniform(f"parameter {number}") for number in range(30)])
    off = np.corrcoef(drawn)[~np.eye(30, dtype=bool)]
    # Pairs of independent columns of 512 correlate with a standard deviation of 1/sqrt(511).
    assert abs(off).max() < 5 / np.sqrt(DRAWS - 1)


def test_a_range_is_the_central_nine_tenths_of_its_draws():
    drawn = Draws().between("x", np.array([2.0]), np.array([8.0]))[0]
    assert np.quantile(drawn, [0.05, 0.5, 0.95]) == pytest.approx([2.0, 4.0, 8.0], rel=0.02)


def test_an_empty_range_is_its_value_and_nothing_stays_nothing():
    drawn = Draws().between("x", np.array([3.0, 0.0]), np.array([3.0, 0.0]))
    assert drawn[0] == pytest.approx(np.full(DRAWS, 3.0))
    assert (drawn[1] == 0).all()


def test_a_range_from_nothing_stays_below_its_top_nine_times_in_ten():
    drawn = Draws().between("x", np.array([0.0]), np.array([8.0]))[0]
    assert np.quantile(drawn, 0.95) == pytest.approx(8.0, rel=0.02)
    assert (drawn > 0).all()


@pytest.mark.parametrize("age", [0.0, 5.0])
def test_drawn_lives_give_the_posteriors_chances(life, age):
    shape, log_scale = Draws().life("some_class", life)
    hazard = (np.exp(-log_scale) * (age + 2.0)) ** shape - (np.exp(-log_scale) * age) ** shape
    drawn = -np.expm1(-hazard)
    assert drawn.mean() == pytest.approx(float(life.failure_probability(age, 2.0)), rel=0.05)
    low, high = life.failure_interval(age, 2.0)
    # Eight of 160 draws lie beyond each end: the ends themselves are that uncertain.
    assert np.quantile(drawn, [0.05, 0.95]) == pytest.approx([float(low), float(high)], rel=0.25)


def test_drawn_shapes_follow_the_posterior(life):
    shape, _ = Draws().life("some_class", life)
    nodes = life.nodes
    assert np.log(shape).mean() == pytest.approx(nodes.log_shape @ nodes.weight, abs=0.01)
