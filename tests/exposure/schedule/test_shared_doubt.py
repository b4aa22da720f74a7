"""What a schedule's boats share in doubt widens its year and moves no mean loss."""

import numpy as np
import pytest

from riskmodel.exposure.cover import Cover
from riskmodel.exposure.doubt import doubt_of
from riskmodel.exposure.schedule.doubted import doubt_of_kinds, with_doubt
from riskmodel.exposure.schedule.priced import priced_book
from riskmodel.exposure.schedule.risks import kind_risks


@pytest.fixture(scope="module")
def both(equal):
    """The schedule without the doubt and with it."""
    found = equal[0]
    kinds, horizon, seed = found.kinds, found.result.horizon, found.result.seed
    plain = kind_risks(kinds, horizon, found.risks.states, seed)
    doubt = doubt_of_kinds(kinds, plain, horizon, seed)
    doubted = with_doubt(plain, kinds, doubt, seed)
    tools = found.result.trade, seed
    return (
        plain,
        doubted,
        [priced_book(found.counted, kinds, each, tools) for each in (plain, doubted)],
        doubt,
    )


def test_it_moves_no_mean_loss(both):
    """Of end states that may come besides others: those that exclude each other do so a little more in bad draws."""
    plain, doubted, (before, after), _ = both
    assert np.abs(doubted.alone / np.maximum(plain.alone, 1e-30) - 1).max() > 0.5
    mean, moved = (
        each.book.mean_losses(Cover.of_all(each.book.severity.value, len(plain.states))).mean(axis=2)
        for each in (before, after)
    )
    others = [place for group in before.book.groups[1:] for place in group]
    np.testing.assert_allclose(moved[:, others], mean[:, others], rtol=1e-9)
    np.testing.assert_allclose(moved, mean, rtol=0.05)
    assert after.ranked == pytest.approx(before.ranked, rel=1e-12)


def test_hazards_are_off_as_drawn(equal, both):
    """Of an assumed outfit whose visits are told: by the draws of the outfit, and one number a kind and end state."""
    plain, doubted, _, doubt = both
    told = equal[0].kinds.learned.fleet.given["vessels"]["checked_every_days"].to_numpy(dtype=bool)
    row = int(np.flatnonzero(doubt.assumed & told)[0])
    hazard, off = (-np.log1p(-each.alone[row]) for each in (plain, doubted))
    logs = np.log(off / hazard)[(hazard > 0).all(axis=1)]
    np.testing.assert_allclose(
        logs - logs.mean(axis=1, keepdims=True), [doubt.outfit - doubt.outfit.mean()] * len(logs), atol=1e-9
    )
    assert doubt.outfit.std() > 0.1


def test_it_is_that_of_the_boats(equal, both):
    """Outfits assumed, and the power of untold visits, kind by kind as boat by boat."""
    doubt, theirs = both[3], doubt_of(equal[1].result)
    np.testing.assert_array_equal(doubt.outfit, theirs.outfit)
    np.testing.assert_array_equal(doubt.attendance, theirs.attendance)
    assert doubt.assumed.sum() == 2
    for name, power in doubt.power.items():
        if name in theirs.power:
            np.testing.assert_allclose(
                sorted(set(power.round(10))), sorted(set(theirs.power[name].round(10))), rtol=1e-6
            )


def test_boats_that_tell_everything_have_none(parquet_of, by_kind):
    parts = [{"item_class": "bilge_pump", "installed_on": "2018-06-01"}, {"item_class": "bellows_drive"}]
    found = by_kind(parquet_of([(3, {}, parts)]))
    assert not found.doubt.assumed.any()
    assert all((power == 0).all() for power in found.doubt.power.values())
