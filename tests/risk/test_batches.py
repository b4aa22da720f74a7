"""Maker's lots in a fleet: early failures raise their siblings, a recall is a known defect and no factor."""

import numpy as np
import pytest

from riskmodel.risk.batches import learn_lots

LOT, OTHER = {"batch": "L-7"}, {"batch": "M-1"}
HOSE = {"item_class": "raw_water_hose", "installed_on": "2020-05-01"}
BOATS = ({"records_from": "2018-01-01"},)
SEEN = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}
SPREAD = 0.4


def failed(item, date="2023-07-01"):
    return {"item_id": item, "date": date, "event": "failed", "finding": "failed"}


def renewed(item, date="2023-07-02", reason="failure"):
    return {"item_id": item, "date": date, "event": "replaced", "reason": reason}


@pytest.fixture(scope="module")
def lots(assessed):
    def run(items, *records):
        return assessed(items, [SEEN, *records], BOATS).lives.lots

    return run


@pytest.fixture(scope="module")
def chances(rows_of):
    def run(items, *records):
        return rows_of(items, [SEEN, *records], BOATS)["failure_probability"]

    return run


def test_parts_without_a_mark_are_of_no_lot(lots):
    assert lots([HOSE, HOSE], failed("I0")) == {}


def test_a_lots_failures_and_lives_are_counted(lots):
    found = lots([HOSE | LOT] * 4 + [HOSE | OTHER], failed("I0"))
    lot = found["raw_water_hose", "L-7"]
    assert set(found) == {("raw_water_hose", "L-7"), ("raw_water_hose", "M-1")}
    assert lot.failures == 1
    assert lot.expected > found["raw_water_hose", "M-1"].expected > 0
    assert lot.mean == pytest.approx((SPREAD**-2 + 1) / (SPREAD**-2 + lot.expected))


def test_the_same_mark_on_another_class_is_another_lot(lots):
    found = lots([HOSE | LOT, HOSE | LOT | {"item_class": "shaft_log_hose"}], failed("I0"))
    assert found["raw_water_hose", "L-7"].failures == 1
    assert found["shaft_log_hose", "L-7"].failures == 0


def test_a_predecessor_is_of_no_known_lot(lots):
    # The mark on the list is that of the hose put in after the failure.
    found = lots([HOSE | LOT | {"installed_on": "2023-07-02"}, HOSE | LOT], failed("I0"), renewed("I0"))
    assert found["raw_water_hose", "L-7"].failures == 0


def test_several_like_parts_of_a_lot_all_count(lots):
    # More than one's share and less than six times it: six survivors lengthen the class's life as well.
    one, many = (lots([HOSE | LOT | {"quantity": n}])["raw_water_hose", "L-7"].expected for n in (1, 6))
    assert 2 * one < many < 6 * one


def test_without_records_nothing_is_known_of_any_lot(assessed):
    assert assessed([HOSE | LOT]).lives.lots == {}


def test_the_siblings_of_a_lot_that_failed_are_likelier_to_let_go(chances):
    items = [HOSE | LOT] * 3 + [HOSE | OTHER] * 3
    records = failed("I0"), failed("I1", "2022-03-01")
    after = chances(items, *records)
    assert after["I2"] > 1.05 * after["I3"]
    assert after["I3"] == pytest.approx(after["I4"], rel=1e-9)


def test_a_lot_that_lived_long_is_less_likely_to_let_go_than_one_nobody_knows(assessed):
    old = {"installed_on": "2012-05-01"}
    items = [HOSE | LOT | old] * 8 + [HOSE | LOT, HOSE]
    rows = assessed(items, [SEEN], ({"records_from": "2012-01-01"},))
    lot = rows.lives.lots["raw_water_hose", "L-7"]
    assert (lot.failures, lot.mean < 1) == (0, True)
    chance = rows.frame.set_index("item_id")["failure_probability"]
    assert chance["I8"] < chance["I9"]


def test_a_mark_alone_changes_a_chance_by_little(chances):
    marked, plain = chances([HOSE | LOT])["I0"], chances([HOSE])["I0"]
    assert marked == pytest.approx(plain, rel=0.03)


def test_a_recall_is_a_known_defect_and_no_factor(assessed):
    items = [HOSE | LOT | {"recall": "clip kit 12"}, HOSE | LOT, HOSE | LOT]
    recalled, plain = (assessed(some, [SEEN], BOATS) for some in (items, [HOSE | LOT] * 3))
    known = recalled.standing.set_index("item_id")["defect"]
    assert known["I0"] == "under recall (clip kit 12)"
    assert known["I1"] == ""
    assert recalled.frame.iloc[0]["item_id"] == "I0"
    before, after = (each.frame.set_index("item_id")["failure_probability"] for each in (plain, recalled))
    assert after[["I0", "I1", "I2"]].tolist() == pytest.approx(before[["I0", "I1", "I2"]], rel=1e-9)


def test_renewal_takes_a_part_out_of_its_lot(assessed):
    items = [HOSE | LOT] * 3 + [HOSE | OTHER]
    found = assessed(items, [SEEN, failed("I0"), failed("I1", "2022-03-01")], BOATS)
    frame = found.frame.set_index("item_id")
    assert frame.loc["I2", "loss_averted"] > frame.loc["I3", "loss_averted"]


def test_lots_are_learned_from_given_rows_alone(assessed):
    found = assessed([HOSE | LOT] * 2, [SEEN, failed("I0")], BOATS)
    again = learn_lots(found.fleet, found.lives.paced, found.lives.posterior, SPREAD)
    lot, same = (each["raw_water_hose", "L-7"] for each in (found.lives.lots, again))
    assert (lot.failures, lot.expected) == (same.failures, same.expected)
    assert np.array_equal(lot.factor, same.factor)
