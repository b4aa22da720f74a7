"""Doubt about outfits that nobody has listed: shared by a whole book, and without a mean of its own."""

from dataclasses import replace
from datetime import date
from types import MappingProxyType

import numpy as np
import pytest

from riskmodel.exposure.book import BOATS as BOATS_OF_A_ROW
from riskmodel.exposure.book import book_of
from riskmodel.exposure.conditions import Condition, price_condition
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.doubt import ATTENDANCE, OUTFIT, doubt_of
from riskmodel.exposure.exposed import exposure_of
from riskmodel.trade import Spread

UNTIL = date(2027, 6, 1)
BOATS = [
    {"vessel_id": "B1", "value": 30000, "checked_every_days": ""},
    {"vessel_id": "B2", "propulsion": "outboard", "value": 15000, "length_m": 6, "checked_every_days": ""},
    {"vessel_id": "B3", "propulsion": "sail_shaft", "fuel": "diesel", "checked_every_days": 7},
]
ITEMS = [
    {"item_class": "shaft_packing", "vessel_id": "B3", "installed_on": "2016-04-02"},
    {"item_class": "bilge_pump", "vessel_id": "B3", "installed_on": "2020-04-02"},
]


def with_sd(result, outfit, attendance=0.0):
    """The same assessment where the doubts have these spreads."""
    own = {OUTFIT: Spread(outfit, outfit, outfit), ATTENDANCE: Spread(attendance, attendance, attendance)}
    care = MappingProxyType(dict(result.trade.care) | own)
    return replace(result, learned=replace(result.learned, trade=replace(result.trade, care=care)))


def doubted(result):
    return book_of(result, doubt_of(result))


@pytest.fixture(scope="module")
def schedule(assessed):
    return assessed(ITEMS, boats=BOATS, until=UNTIL)


@pytest.fixture(scope="module")
def without(schedule):
    return book_of(schedule)


@pytest.mark.parametrize("spreads", [(0.35, 0.0), (0.0, 0.4), (0.35, 0.4)])
def test_no_mean_loss_moves_before_terms(schedule, without, spreads):
    """But for boats that sink and would have burnt: total losses exclude each other draw by draw."""
    found = doubted(with_sd(schedule, *spreads))
    cover = Cover.of_all(found.severity.value, len(found.states))
    ours, theirs = (book.mean_losses(cover).mean(axis=2) for book in (found, without))
    free = [place for place in range(len(found.states)) if place not in found.groups[0]]
    np.testing.assert_allclose(ours[:, free], theirs[:, free], rtol=1e-9)
    np.testing.assert_allclose(ours, theirs, rtol=2e-3)
    assert (found.chance[:2] != without.chance[:2]).any()


def test_only_what_is_assumed_is_doubted(schedule, without):
    """B3 lists its parts and says how often it is seen to."""
    found = doubted(schedule)
    assert list(doubt_of(schedule).assumed) == [True, True, False]
    np.testing.assert_array_equal(found.chance[2], without.chance[2])
    no_doubt = doubted(with_sd(schedule, 0.0))
    np.testing.assert_array_equal(no_doubt.chance, without.chance)


def test_all_such_boats_are_worse_in_the_same_draws(schedule, without):
    found = doubted(with_sd(schedule, 0.5))
    place = without.states.index("machinery_damage")
    hazards = [-np.log1p(-book.chance[:2, place]) for book in (without, found)]
    risen = np.log(hazards[1] / hazards[0])
    np.testing.assert_allclose(
        risen - risen.mean(axis=1, keepdims=True), np.tile(risen[0] - risen[0].mean(), (2, 1))
    )
    assert risen.std(axis=1) == pytest.approx([0.5, 0.5], rel=0.02)


def test_doubt_about_visits_moves_what_visits_bear_on(schedule):
    power = doubt_of(schedule).power
    assert (power["sinking_unattended"][:2] > 0.3).all()
    assert power["sinking_unattended"][2] == 0.0
    np.testing.assert_allclose(power["fire_explosion"], 0.0, atol=1e-9)


def test_visits_that_are_a_condition_are_no_longer_in_doubt(schedule):
    first = np.array([True, False, False])
    left = doubt_of(schedule).told_visits(first).power["sinking_unattended"]
    assert left[0] == 0.0
    assert left[1] == doubt_of(schedule).power["sinking_unattended"][1]


def test_doubt_does_not_average_out_over_a_schedule(schedule):
    fleet = schedule.fleet
    many = replace(fleet, vessels=fleet.vessels.assign(**{BOATS_OF_A_ROW: 60}))
    large = replace(schedule, learned=replace(schedule.learned, fleet=many))
    narrow, wide = (exposure_of(with_sd(large, sd)).before.total for sd in (0.0, 0.6))
    assert wide.mean == pytest.approx(narrow.mean, rel=1e-3)
    assert wide.parameter_sd > 1.1 * narrow.parameter_sd
    assert wide.process_sd < 1.1 * narrow.process_sd


def test_boats_that_keep_a_condition_share_the_same_doubt(schedule):
    exposed = exposure_of(with_sd(schedule, 1.0))
    often = float(schedule.fleet.vessels["checked_every_days"].max())
    same = price_condition(exposed, Condition("visits", "", often), 0.5)
    assert same.tail_after == pytest.approx(same.tail_before, rel=1e-9)
    assert same.credit == 0.0
