"""Chances within a class: over the posterior and draw by draw, with known and unknown ages."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.frames import places_by
from riskmodel.life import LifeRows, fit_life
from riskmodel.life.looks import window_nodes
from riskmodel.life.seed import seed_class
from riskmodel.risk.chances import (
    Parameters,
    chance_of_any,
    chance_of_one,
    drawn_parameters,
    match_mean,
    middle_parameters,
    node_interval,
    posterior_parameters,
    quadrature_mean,
)
from riskmodel.risk.class_risk import class_risk
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.parts import Parts
from riskmodel.trade import load_trade


@pytest.fixture(scope="module")
def life():
    return fit_life(
        LifeRows.none(), seed_class(load_trade().classes["raw_water_hose"], (0.2, 0.45, 0.7)).prior
    )


def parts_of(ages, gaps=0.0, quantity=1.0):
    """Parts of known ages (years) in reference surroundings, with nothing else known of them."""
    age = np.asarray(ages, dtype=float)
    gap = np.broadcast_to(np.asarray(gaps, dtype=float), age.shape)
    gap = np.where(np.isnan(gap), age, np.minimum(gap, age))
    none, ones, nowhere = np.zeros(len(age)), np.ones(len(age)), np.full(len(age), -1)
    return Parts(
        age=age - gap,
        gap=gap,
        quantity=quantity * ones,
        cell=nowhere,
        ages=np.zeros(1),
        weights=np.zeros((0, 3, 1)),
        kind=np.zeros(len(age), dtype=np.intp),
        speed=np.ones((1, 1)),
        reach=ones,
        looks=None,
        windows=window_nodes(0.25, 1.5),
        lot=nowhere,
        lots=(),
        lot_correction=1.0,
        hours=none,
        unmetered=none,
        rate=ones,
        rate_sd=0.0,
    )


def summary_of(parts, life, years):
    """Mean and interval with no doubt but the life's own."""
    return quadrature_mean(parts, life, np.zeros(1), years), *node_interval(parts, life, years)


@given(st.floats(0.05, 2.0), st.floats(-6, 0), st.floats(0.8, 1.25))
def test_draws_matched_to_a_mean_have_that_mean(spread, middle, factor):
    hazard = np.exp(middle + spread * Draws().normal("x"))[None, :]
    wanted = -np.expm1(-factor * hazard).mean(axis=1)
    assert match_mean(-np.expm1(-hazard), wanted).mean(axis=1) == pytest.approx(wanted, rel=1e-6)


def test_draws_of_a_life_match_the_quadratures_mean(life):
    parts = parts_of([0.5, 4.0, 9.0, 25.0])
    year = np.ones(4)
    mean, _, _ = summary_of(parts, life, year)
    drawn = chance_of_one(parts, drawn_parameters("x", life, None, Draws()), year)
    assert match_mean(drawn, mean).mean(axis=1) == pytest.approx(mean, rel=1e-6)


def test_every_demo_parts_draws_match_its_mean(demo):
    for name, place in places_by(demo.fleet.items["item_class"]).items():
        rows = demo.standing.iloc[place].reset_index(drop=True)
        life, clocks = demo.lives.posterior[name], demo.lives.clocks.get(name)
        looks = clean_looks(demo.fleet, pd.Series(dtype="datetime64[ns]"))
        parts = gather_parts(demo.trade.classes[name], rows, demo.lives, looks, (demo.trade, Draws()))
        parameters = drawn_parameters(name, life, clocks.by_hours if clocks else None, Draws())
        risk = class_risk(
            demo.trade.classes[name], life, parts, parameters, rows, (demo.horizon.years, np.full(DRAWS, 0.4))
        )
        assert risk.drawn.mean(axis=1) == pytest.approx(risk.mean, rel=1e-6), name


def test_matching_keeps_the_order_of_the_draws():
    drawn = np.linspace(0.01, 0.6, 64)[None, :]
    assert (np.diff(match_mean(drawn, np.array([0.4]))) > 0).all()


def test_the_mean_is_the_lifes_own(life):
    mean, low, high = summary_of(parts_of([3.0, 12.0]), life, np.array([1.0, 2.0]))
    assert mean == pytest.approx(life.failure_probability([3.0, 12.0], [1.0, 2.0]), rel=1e-12)
    lower, upper = life.failure_interval([3.0, 12.0], [1.0, 2.0])
    assert low == pytest.approx(lower, rel=1e-9)
    assert high == pytest.approx(upper, rel=1e-9)


def test_a_gap_counts_from_when_it_was_last_known_to_work(life):
    mean, _, _ = summary_of(parts_of([6.0], gaps=2.0), life, np.ones(1))
    assert mean[0] == pytest.approx(float(life.failure_probability(4.0, 3.0)), rel=1e-12)


def test_never_tested_counts_from_new(life):
    mean, _, _ = summary_of(parts_of([6.0], gaps=np.nan), life, np.ones(1))
    assert mean[0] == pytest.approx(float(life.failure_probability(0.0, 7.0)), rel=1e-12)


@given(st.floats(0, 1), st.integers(1, 80))
def test_any_of_n_is_one_less_none(one, number):
    got = chance_of_any(np.array([[one]]), np.array([float(number)]))[0, 0]
    assert got == pytest.approx(1 - (1 - one) ** number, abs=1e-12)


def test_a_part_that_some_boats_carry_has_about_its_share_of_the_chance():
    got = chance_of_any(np.array([[0.02]]), np.array([0.3]))[0, 0]
    assert got == pytest.approx(0.3 * 0.02, rel=0.01)


def test_small_chances_keep_their_digits():
    assert chance_of_any(np.array([[1e-14]]), np.array([40.0]))[0, 0] == pytest.approx(4e-13, rel=1e-9)


def test_drawn_owners_come_in_the_weights_of_their_shares(life):
    owner = drawn_parameters("x", life, None, Draws()).owner
    assert np.bincount(owner) / DRAWS == pytest.approx([0.25, 0.5, 0.25], abs=0.005)


def test_posterior_weights_add_up(life):
    assert posterior_parameters(life).weight.sum() == pytest.approx(1.0)


def test_the_middle_parameters_are_the_weighted_middle():
    many = Parameters(
        np.array([1.0, 4.0]), np.array([0.0, 3.0]), np.array([0.5, 0.5]), np.zeros(2, dtype=np.intp)
    )
    middle = middle_parameters(many)
    assert middle.shape.tolist() == pytest.approx([2.0])
    assert middle.log_scale.tolist() == pytest.approx([1.5])
    assert (middle.weight.tolist(), middle.owner.tolist(), middle.by_hours) == ([1.0], [1], None)


def test_the_middle_of_one_is_itself_and_keeps_its_second_clock():
    one = Parameters(
        *(np.array([value]) for value in (2.5, 1.2, 1.0)),
        np.zeros(1, dtype=np.intp),
        (np.array([1.5]), np.array([6.0])),
    )
    middle = middle_parameters(one)
    assert [*middle.shape, *middle.log_scale] == pytest.approx([2.5, 1.2])
    assert [float(each[0]) for each in middle.by_hours] == [1.5, 6.0]


@pytest.mark.parametrize("age", [3.0, 9.0])
def test_the_middle_life_lies_among_the_drawn(life, age):
    drawn = drawn_parameters("x", life, None, Draws())
    parts, year = parts_of([age]), np.ones(1)
    chances = chance_of_one(parts, drawn, year)[0]
    (middle,) = chance_of_one(parts, middle_parameters(drawn), year)[0]
    low, high = np.quantile(chances, [0.3, 0.7])
    assert low < middle < high
