"""How chances build up over the time ahead: they rise, new parts start low, and they agree with the assessment."""

import numpy as np
import pytest

from riskmodel.risk.ahead import chances_ahead


@pytest.fixture(scope="module")
def ahead(demo):
    years = demo.horizon.years
    times = np.tile([0.0, years / 2, years, 6.0], (len(demo.fleet.items), 1))
    return chances_ahead(demo.learned, times, seed=demo.seed)


def test_chances_are_chances_and_rise_with_time(ahead):
    for chance in (ahead.standing, ahead.fresh):
        assert ((chance >= 0) & (chance <= 1)).all()
        assert (np.diff(chance, axis=1) >= -1e-12).all()


def test_a_new_part_cannot_have_let_go_yet(ahead):
    assert np.allclose(ahead.fresh[:, 0], 0.0)


def test_a_part_that_shows_its_failure_is_whole_today(demo, ahead):
    shows = demo.fleet.items["item_class"].map(
        {name: not each.fails_unseen for name, each in demo.trade.classes.items()}
    )
    assert np.allclose(ahead.standing[shows.to_numpy(), 0], 0.0)


def test_they_go_with_the_assessments_chances(demo, ahead):
    sound = (demo.standing["found"] != "failing").to_numpy() & ~demo.standing["let_go"].to_numpy()
    ranks = [np.argsort(np.argsort(values[sound])) for values in (ahead.standing[:, 2], demo.parts.mean)]
    assert np.corrcoef(*ranks)[0, 1] > 0.95


def test_each_part_may_have_times_of_its_own(demo):
    items = len(demo.fleet.items)
    rising = np.linspace(0.1, 3.0, items)[:, None]
    alone = chances_ahead(demo.learned, rising, seed=demo.seed).standing[:, 0]
    pair = chances_ahead(demo.learned, np.hstack([rising[::-1], rising]), seed=demo.seed).standing[:, 1]
    assert np.allclose(alone, pair)
