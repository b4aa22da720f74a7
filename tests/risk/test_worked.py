"""The assessment made ready for planning: hire refunded, faults of new work charged, work recomputed in full."""

import numpy as np
import pytest

from riskmodel.risk.after import vessel_losses_of
from riskmodel.risk.worked import (
    early_failures,
    outcomes_of_work,
    with_early_failures,
    with_refunds,
    worth_of_work,
)

ITEMS = [{"item_class": "shaft_packing", "installed_on": "2019-05-02"}]


@pytest.fixture(scope="module")
def charged(demo):
    return with_early_failures(demo)


def test_a_fleet_that_is_not_let_is_left_as_it_is(demo):
    assert with_refunds(demo) is demo


def test_hire_is_lost_by_what_stops_the_boat(assessed):
    result = assessed(ITEMS, boats=[{"day_rate": 200, "downtime_days": 5}])
    before = result.losses.set_index("end_state")
    after = with_refunds(result).losses.set_index("end_state")
    more = (after["mean"] - before["mean"]).to_dict()
    assert more.pop("nuisance") == pytest.approx(200)
    assert more.pop("injury") == 0
    assert list(more.values()) == pytest.approx([1000] * len(more))
    for column in ("low", "high", "median", "p90"):
        sinking = after.loc["sinking_unattended", column] - before.loc["sinking_unattended", column]
        assert sinking == pytest.approx(1000)


def test_downtime_of_less_than_a_day_is_no_more_for_a_nuisance(assessed):
    result = assessed(ITEMS, boats=[{"day_rate": 200, "downtime_days": 0.5}])
    more = with_refunds(result).losses["mean"] - result.losses["mean"]
    assert more.max() == pytest.approx(100)


def test_without_faults_nothing_changes(demo, charged):
    assert (charged.parts.kept >= demo.parts.kept - 1e-12).all()
    worth, _ = worth_of_work(demo)
    assert np.allclose(worth.renew, demo.benefits.renew)
    assert np.allclose(worth.look, demo.benefits.look)


def test_faults_of_new_work_take_from_renewals_and_not_from_looks(demo, charged):
    worth, _ = worth_of_work(charged)
    assert (worth.renew <= demo.benefits.renew + 1e-9).all()
    assert np.allclose(worth.look, demo.benefits.look)
    assert (worth.renew >= 0).all()


def test_a_new_part_fails_by_age_or_by_a_fault_of_fitting(demo, charged):
    early = early_failures(demo)[:, None]
    fresh = np.minimum(demo.parts.kept * demo.parts.drawn, 1.0)
    new = charged.parts.kept * np.maximum(demo.parts.drawn, np.finfo(float).tiny)
    assert np.allclose(new, 1 - (1 - fresh) * (1 - early))


def test_one_defect_is_one_new_part(assessed):
    clamps = [{"item_class": "hose_clamps", "installed_on": "2015", "quantity": 40}]
    records = [{"item_id": "I0", "date": "2026-05-01", "event": "inspected", "finding": "failing"}]
    assert early_failures(assessed(clamps, records))[0] == pytest.approx(0.02)


def test_no_work_leaves_everything(demo, charged):
    none = np.zeros(len(demo.fleet.items))
    _, now = worth_of_work(charged)
    assert np.allclose(outcomes_of_work(charged, none, none).loss, now.loss)


def test_work_done_later_leaves_more_than_work_done_today(demo, charged):
    items = len(demo.fleet.items)
    some, none = np.arange(items) % 7 == 0, np.zeros(items)
    totals = [
        vessel_losses_of(charged, outcomes_of_work(charged, share * some, none)).sum()
        for share in (0.0, 0.3, 0.7, 1.0)
    ]
    assert (np.diff(totals) < 0).all()


def test_renewing_never_raises_a_boats_loss(charged):
    items = len(charged.fleet.items)
    before = vessel_losses_of(charged, worth_of_work(charged)[1])
    after = vessel_losses_of(charged, outcomes_of_work(charged, np.ones(items), np.zeros(items)))
    assert (after <= before * (1 + 1e-9)).all()
