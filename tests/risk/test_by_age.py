"""Chances by age alone are those that `rank` gives a part of that age, of every sort of class."""

import datetime

import numpy as np
import pytest

from riskmodel.risk.by_age import alike, barrier_by_age, barriers_alike, by_age
from riskmodel.risk.chances import drawn_parameters
from riskmodel.risk.draws import Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.learned import installed_on
from riskmodel.risk.looked import clean_looks
from riskmodel.units import DAYS_PER_YEAR

INSTALLED = (datetime.date(2022, 4, 1), datetime.date(2011, 9, 15))
AS_OF = datetime.date(2026, 6, 1)
AGES = np.array([(AS_OF - day).days for day in INSTALLED]) / DAYS_PER_YEAR
# In the open, with a clock of running hours beside, unseen, and as a barrier.
OPEN, TWO_CLOCKS, UNSEEN, BARRIER = "fuel_feed_hose", "raw_water_impeller", "float_switch", "bilge_pump"


@pytest.fixture(scope="module")
def parts(assessed):
    """Each class dated twice and once not, on two boats, three boats apart in surroundings."""
    boats = [
        {"vessel_id": "B1", "hours_per_year": 80},
        {"vessel_id": "B2", "hours_per_year": 200, "climate": "hot", "built_year": 1990},
    ]
    items = [
        {"vessel_id": boat["vessel_id"], "item_class": name, "installed_on": day}
        for boat in boats
        for name in (OPEN, TWO_CLOCKS, UNSEEN, BARRIER)
        for day in (*map(str, INSTALLED), "")
    ]
    return assessed(items, boats=boats)


def of_class(result, name):
    """Places of a class's parts, and what its chances are worked out from."""
    place = np.flatnonzero(result.fleet.items["item_class"] == name)
    lives, draws = result.lives, Draws(result.seed)
    looks = clean_looks(result.fleet, installed_on(lives))
    where = result.standing.iloc[place].reset_index(drop=True)
    gathered = gather_parts(result.trade.classes[name], where, lives, looks.iloc[:0], (result.trade, draws))
    hours = lives.clocks[name].by_hours if name in lives.clocks else None
    return place, (
        gathered,
        lives.posterior[name],
        drawn_parameters(name, lives.posterior[name], hours, draws),
    )


@pytest.mark.parametrize("name", [OPEN, TWO_CLOCKS, UNSEEN, BARRIER])
def test_a_known_age(parts, name):
    place, known = of_class(parts, name)
    table = by_age(*known, AGES, parts.horizon.years)
    for boat in (0, 1):
        mine = table.chance[table.like[3 * boat]]
        np.testing.assert_allclose(mine, parts.parts.drawn[place[3 * boat : 3 * boat + 2]], rtol=1e-10)
    # The boats' surroundings and hours tell them apart.
    assert len(table.chance) == 2
    assert len(set(table.like[:3])) == 1


def test_the_two_clocks_are_there(parts):
    assert TWO_CLOCKS in parts.lives.clocks


@pytest.mark.parametrize("name", [UNSEEN, BARRIER])
def test_a_barrier_of_a_known_age(parts, name):
    place, known = of_class(parts, name)
    table, ready = barrier_by_age(*known, AGES, parts.horizon.years), parts.barriers.ready[name]
    for boat in (0, 1):
        some = slice(3 * boat, 3 * boat + 2)
        np.testing.assert_allclose(table.dead[table.like[3 * boat]], ready.dead[some], rtol=1e-10)
        np.testing.assert_allclose(
            table.dead_tested[table.like[3 * boat]], ready.dead_tested[some], rtol=1e-10
        )
    assert len(place) == 6


@pytest.mark.parametrize("name", [OPEN, TWO_CLOCKS, UNSEEN, BARRIER])
def test_an_unknown_age(parts, name):
    """What the assessment says of it, and of every other row: as they are told apart by age as well."""
    place, known = of_class(parts, name)
    table = alike(*known, parts.horizon.years)
    np.testing.assert_allclose(table.chance[table.like], parts.parts.drawn[place], rtol=1e-10)


@pytest.mark.parametrize("name", [UNSEEN, BARRIER])
def test_barriers_of_unknown_age(parts, name):
    _, known = of_class(parts, name)
    table, ready = barriers_alike(*known, parts.horizon.years), parts.barriers.ready[name]
    np.testing.assert_allclose(table.dead[table.like], ready.dead, rtol=1e-10)
    np.testing.assert_allclose(table.dead_tested[table.like], ready.dead_tested, rtol=1e-10)


def test_parts_that_nothing_tells_apart_are_one(assessed):
    items = [{"vessel_id": boat, "item_class": OPEN} for boat in ("B1", "B2", "B3")]
    boats = [{"vessel_id": "B1"}, {"vessel_id": "B2"}, {"vessel_id": "B3", "built_year": 1970}]
    result = assessed(items, boats=boats)
    _, known = of_class(result, OPEN)
    table = alike(*known, result.horizon.years)
    assert table.like[0] == table.like[1] != table.like[2]


def test_mixed_over_ages(parts):
    _, known = of_class(parts, OPEN)
    table = by_age(*known, AGES, parts.horizon.years)
    weights = np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]] * 2)
    mixed = table.mixed(table.chance, weights)
    np.testing.assert_allclose(mixed[0], table.chance[table.like[0], 0], rtol=1e-14)
    np.testing.assert_allclose(mixed[1], table.chance[table.like[1]].mean(axis=0), rtol=1e-14)
    np.testing.assert_allclose(mixed[5], table.chance[table.like[5], 1], rtol=1e-14)
