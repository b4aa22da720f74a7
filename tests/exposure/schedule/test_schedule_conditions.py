"""Conditions on a schedule do what they do to the same boats one by one: boats, money, credit."""

import numpy as np
import pytest

from riskmodel.errors import ParameterError
from riskmodel.exposure.conditions import price_condition, read_condition
from riskmodel.exposure.schedule.conditions import price_on_schedule

pytestmark = pytest.mark.thorough

# How near the route by kind comes to that by boat. Renewed parts of lists are new parts by age, mean and all, and not
# what they were times a ratio; what is not kept by all is mixed within each end state.
ROUTE = 6e-3
OFTEN = ("renew=raw_water_impeller>1", "visits=3", "tests=30")
SELDOM = ("renew=pump>3", "renew=hose>5", "renew=bellows>20", "renew=bellows>30", "visits=10")


@pytest.mark.parametrize(
    "text", [*OFTEN, *(pytest.param(each, marks=pytest.mark.thorough) for each in SELDOM)]
)
def test_as_boat_by_boat(equal, text):
    kinds, boats = equal
    condition = read_condition(text)
    mine = price_on_schedule(kinds, condition, 0.8, 2.0)
    theirs = price_condition(boats, condition, 0.8, 2.0)
    assert mine.boats == theirs.boats
    assert mine.cost == pytest.approx(theirs.cost, rel=1e-9)
    assert mine.credit == pytest.approx(theirs.credit, rel=ROUTE)
    assert mine.credit_share == pytest.approx(theirs.credit_share, rel=ROUTE)
    assert mine.mean_after == pytest.approx(theirs.mean_after, rel=1e-3)
    assert mine.tail_after == pytest.approx(theirs.tail_after, rel=2e-3)
    assert mine.told.split("(")[0].split()[-1] == theirs.told.split("(")[0].split()[-1]


def test_nobody_keeps_it(equal):
    found = price_on_schedule(equal[0], read_condition("visits=3"), 0.0, 2.0)
    assert found.mean_after == pytest.approx(equal[0].after.total.mean, rel=1e-12)
    assert found.tail_after == pytest.approx(found.tail_before, rel=1e-9)
    assert found.cost == 0.0
    # What one boat saves does not depend on who keeps it.
    assert found.credit > 0


def test_everybody_keeps_it(equal):
    found = price_on_schedule(equal[0], read_condition("tests=30"), 1.0)
    saved = found.mean_before - found.mean_after
    assert found.credit * found.boats == pytest.approx(saved, rel=1e-9)
    assert 0 < found.credit_share < 1


def test_nobody_is_touched(equal):
    found = price_on_schedule(equal[0], read_condition("visits=30"), 0.8, 2.0)
    assert (found.boats, found.cost, found.credit, found.credit_share) == (0, 0.0, 0.0, 0.0)
    assert found.mean_after == pytest.approx(found.mean_before, rel=1e-12)


def test_renewal_of_some_boats(parquet_of, by_kind, by_boat):
    """Half of a kind's boats have an old bellows: theirs is renewed, and the others are left as they are."""
    kinds = [
        (6, {}, [{"item_class": "bellows_drive", "installed_on": day}, {"item_class": "bilge_pump"}])
        for day in ("2014-06-01", "2025-06-01")
    ]
    folder = parquet_of(kinds)
    condition = read_condition("renew=bellows>5")
    mine, theirs = by_kind(folder), by_boat(folder)
    assert len(mine.kinds.kind) == 1
    found, wanted = price_on_schedule(mine, condition, 1.0), price_condition(theirs, condition, 1.0)
    assert found.boats == wanted.boats == 6
    assert found.cost == pytest.approx(wanted.cost, rel=1e-9)
    assert found.mean_after == pytest.approx(wanted.mean_after, rel=5e-3)
    assert found.credit == pytest.approx(wanted.credit, rel=0.03)


@pytest.mark.parametrize(
    ("arguments", "match"),
    [((1.2, 0.0), "compliance must lie in 0 to 1, got 1.2"), ((0.5, -1.0), "visit_cost must be 0 or more")],
)
def test_numbers_that_cannot_be(equal, arguments, match):
    with pytest.raises(ParameterError, match=match):
        price_on_schedule(equal[0], read_condition("visits=3"), *arguments)


def test_a_class_that_there_is_not(equal):
    with pytest.raises(ParameterError, match="renew must name a class of parts"):
        price_on_schedule(equal[0], read_condition("renew=keel>3"), 0.5)


def test_a_large_schedule(large):
    """More visits to those who say how often: less is lost, by those boats alone."""
    found = price_on_schedule(large, read_condition("visits=3"), 0.5)
    assert found.boats == large.book.boats
    assert found.mean_after == pytest.approx(found.mean_before - 0.5 * found.credit * found.boats, rel=2e-4)
    assert found.tail_after < found.tail_before
    assert np.isfinite(found.tail_after)
