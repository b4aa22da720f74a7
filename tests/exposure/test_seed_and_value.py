"""An insurer's year: what a seed may move, and what any boat's value, however small or large, may come to."""

import numpy as np
import pytest

from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.severities import MOST_CLEARED
from riskmodel.risk import assess


@pytest.mark.thorough
def test_a_seed_moves_the_bands_of_a_year_and_nothing_else(two_boats, fleet_of):
    fleet = fleet_of(**two_boats)
    one, other = (exposure_of(assess(fleet, seed=seed)) for seed in (1, 2))
    bands = [name for name in one.after.table if name.endswith(("_low", "_high"))]
    assert one.after.table.drop(columns=bands).equals(other.after.table.drop(columns=bands))
    assert (one.after.table[bands] != other.after.table[bands]).any(axis=None)
    assert one.after.total.mean == other.after.total.mean
    assert other.after is other.before


@pytest.mark.parametrize("value", [10.0**power for power in (0, 5, 10, 15)])
def test_at_any_value_all_is_finite_and_no_more_is_lost_than_there_is(assessed, value):
    result = assessed(
        [{"item_class": "bellows_drive"}, {"item_class": "deck_bedding"}], boats=({"value": value},)
    )
    found = exposure_of(result)
    one = value + MOST_CLEARED * float(result.losses["cleared_high"].max())
    # A boat may have one loss of each kind in a year.
    most = len(found.book.states) * one
    money = result.frame[["expected_loss", "loss_low", "loss_high", "loss_averted"]].to_numpy()
    assert np.isfinite(money).all()
    assert (money <= most).all()
    assert 0 < found.before.total.mean <= most
    table = found.before.table.to_numpy()
    assert np.isfinite(table).all()
    assert (found.before.table["total"] <= most).all()
    dearest = float(found.book.severity.payouts(found.before.part.cover).most.max())
    assert dearest <= one * (1.0 + 1e-9)
