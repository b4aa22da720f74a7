"""Sentences of the insurer's page that hold for some books only: each stands where what it says is so."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from riskmodel.exposure.cover import Policy
from riskmodel.exposure.distribution import LossDistribution
from riskmodel.exposure.exposed import exposure_of
from riskmodel.report.exposure_curve import evened_out, largest_boat
from riskmodel.report.exposure_more import _most_together, errors_block


def year(mean, process, parameter, boats):
    total = LossDistribution(mean, np.hypot(process, parameter), np.ones(1), 1.0, 0.0, process, parameter)
    exposure = SimpleNamespace(after=SimpleNamespace(total=total), book=SimpleNamespace(boats=boats))
    return SimpleNamespace(exposure=exposure)


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ((1000.0, 10.0, 300.0, 50_000), True),
        # More chance than doubt; a year that chance doubles; one boat; nothing to lose; nothing in doubt.
        ((1000.0, 200.0, 300.0, 50_000), False),
        ((1000.0, 900.0, 9000.0, 50), False),
        ((1000.0, 10.0, 300.0, 1), False),
        ((0.0, 0.0, 0.0, 50_000), False),
        ((1000.0, 10.0, 0.0, 50_000), False),
    ],
)
def test_chance_evens_out_only_in_a_book_where_it_does(told, says):
    assert ("Chance evens out" in evened_out(year(*told))) == says


@pytest.fixture(scope="module")
def insured(assessed):
    boats = [{"home_port": "Quay"}, {"vessel_id": "B2", "home_port": "Pool", "value": 90000}]
    items = [{"item_class": "bellows_drive", "installed_on": "2016-05-01", "vessel_id": "B1"}]
    items += [{**items[0], "vessel_id": "B2"}]
    result = assessed(items, boats=boats)
    return lambda policy: SimpleNamespace(exposure=exposure_of(result, policy))


def test_the_largest_boat_is_named_only_where_one_can_lose(insured):
    assert "The largest loss one boat can bring after" in largest_boat(insured(Policy()))
    none = largest_boat(insured(Policy(deductible=1e9, salvage_inside=1.0)))
    assert "No boat of this book can bring a loss after terms." in none
    assert "The largest loss" not in none


def test_what_counts_once_is_taken_off_only_where_it_is_something(insured):
    found = insured(Policy())
    plain = found.exposure.before.total.mean
    for less, says in ((0.0, False), (12.0, True)):
        told = SimpleNamespace(exposure=replace(found.exposure, ranked=plain + less))
        assert ("does not burn as well" in " ".join(errors_block(told).split())) == says


def test_the_place_that_holds_most_is_told_with_its_share():
    def words(*rows):
        places = pd.DataFrame(rows, columns=["place", "value"])
        book = SimpleNamespace(value=places["value"].to_numpy(dtype=float))
        return _most_together(SimpleNamespace(places=places, exposure=SimpleNamespace(book=book)))

    assert words(("not said", 5.0)) == ""
    assert words(("Quay", 40.0), ("not said", 60.0)) == ", and one place holds 40 % of the value"
    assert words(("Quay", 1.0), ("not said", 9999.0)) == ", and none holds 0.1 % of the value"
