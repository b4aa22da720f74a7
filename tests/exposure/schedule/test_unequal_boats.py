"""Boats made alike in bands: how near they come to the boats one by one, and what the page says of the difference."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from riskmodel.consequence import vessel_losses
from riskmodel.evaluate.synthetic_book import write_synthetic_book
from riskmodel.exposure.book import book_of, states_of_money
from riskmodel.exposure.cover import Cover
from riskmodel.exposure.schedule.door import open_schedule
from riskmodel.exposure.schedule.priced import priced_book
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.risks import kind_risks
from riskmodel.exposure.schedule.running import one_after_another
from riskmodel.exposure.schedule.standing_for import standing_for
from riskmodel.fleet import load_fleet
from riskmodel.risk import Horizon, assess

pytestmark = pytest.mark.thorough

AS_OF, UNTIL = date(2026, 6, 1), date(2027, 6, 1)
YEAR = Horizon(AS_OF, UNTIL, "a year")
BOATS = 90


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    found = tmp_path_factory.mktemp("unequal")
    write_synthetic_book(found, BOATS, 8, as_of=AS_OF)
    return found


@pytest.fixture(scope="module")
def one_by_one(folder):
    """Mean loss before terms by end state, without shared doubt."""
    return means_of(book_of(assess(load_fleet(folder, as_of=AS_OF, today=AS_OF), until=YEAR)))


def means_of(book):
    means = book.mean_losses(Cover.of_all(book.severity.value, len(book.states))).mean(axis=2).sum(axis=0)
    return dict(zip(book.states, means, strict=True))


def by_kinds(folder, most):
    """The same summed over kinds, ``most`` of them."""
    schedule = open_schedule(folder, as_of=AS_OF, today=AS_OF)
    schedule = replace(schedule, kinds=replace(schedule.kinds, most=most))
    counted = read_schedule(schedule, one_after_another, lambda *_: None)
    kinds = standing_for(schedule, counted)
    states = states_of_money(vessel_losses(kinds.learned.fleet.vessels.iloc[:1], kinds.learned.trade))
    risks = kind_risks(kinds, YEAR, states, 1)
    return means_of(priced_book(counted, kinds, risks, (kinds.learned.trade, 1)).book), kinds


@pytest.mark.parametrize(
    ("most", "kinds", "total", "each"),
    [(1000, BOATS, 0.003, 0.01), pytest.param(60, 80, 0.03, 0.12, marks=pytest.mark.thorough)],
)
def test_bands(folder, one_by_one, most, kinds, total, each):
    """With a kind for every boat only ages are in cells, to half a year; in the widest bands little is told apart."""
    found, stood = by_kinds(folder, most)
    assert len(stood.kind) <= kinds
    whole = sum(one_by_one.values())
    assert sum(found.values()) == pytest.approx(whole, rel=total)
    for name, mean in one_by_one.items():
        assert found[name] == pytest.approx(mean, rel=each, abs=0.01 * whole), name


def test_what_unlike_boats_widen(parquet_of, by_kind, by_boat):
    """Boats of one price and unlike chances: the year is wider by no more than is said, and not by much less."""
    visits = ({"checked_every_days": 3.0}, {"checked_every_days": 60.0, "climate": "hot"})
    pump = [{"item_class": name, "installed_on": "2004-06-01"} for name in ("bilge_pump", "bellows_drive")]
    folder = parquet_of([(20, each, pump) for each in visits])
    mine, theirs = by_kind(folder), by_boat(folder)
    assert len(mine.kinds.kind) == 2
    assert mine.book.rows == 1
    wider = mine.before.total.process_sd**2 - theirs.before.total.process_sd**2
    # Unlike boats' single losses differ as well, which takes a little of it back.
    assert 0.75 * mine.priced.widened < wider < mine.priced.widened
    assert mine.before.total.mean == pytest.approx(theirs.before.total.mean, rel=1e-9)
    np.testing.assert_allclose(mine.before.total.sd, theirs.before.total.sd, rtol=0.05)
