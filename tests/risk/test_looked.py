"""Clean looks on record: which count, in what order, and that they only ever speak for a part."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from riskmodel.life.looks import BEST_DETECTION, DETECTION_NODES, MOST_LOOKS
from riskmodel.risk.looked import clean_looks, looks_of_class
from riskmodel.trade import load_trade

TRADE = load_trade()
HOSE = {"item_class": "raw_water_hose", "installed_on": "2012-05-01"}
NEVER = pd.Series(dtype="datetime64[ns]")


def look(date, finding="sound", thoroughness="handled", event="inspected", item="I0"):
    return {
        **{"item_id": item, "date": date, "event": event, "finding": finding},
        **{"thoroughness": thoroughness},
    }


# The boat is watched and in use alike in every fleet, so that records of looks say nothing but what they saw.
SEEN = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}
BOATS = ({"records_from": "2015-01-01"},)


@pytest.fixture(scope="module")
def chance(rows_of):
    """Chance of letting go of the hose after these looks, with its interval."""

    def run(*records, item=HOSE):
        row = rows_of([item], [SEEN, *records], BOATS).loc["I0"]
        return row["failure_probability"], row["failure_low"], row["failure_high"]

    return run


def looks_in(fleet_of, *records, installed=NEVER, items=(HOSE,)):
    return clean_looks(fleet_of(list(items), [SEEN, *records]), installed)


def test_sound_looks_are_kept_with_their_age_and_care(fleet_of):
    found = looks_in(fleet_of, look("2025-06-01"), look("2024-06-01", thoroughness="opened", event="tested"))
    assert found["item_id"].tolist() == ["I0", "I0"]
    assert found["ago"].tolist() == pytest.approx([2.0, 1.0], abs=0.01)
    assert found["thoroughness"].tolist() == ["opened", "handled"]


@pytest.mark.parametrize("finding", ["suspect", "failing", "failed", "unknown", ""])
def test_a_look_that_did_not_find_it_sound_is_no_clean_look(fleet_of, finding):
    assert looks_in(fleet_of, look("2025-06-01", finding)).empty


def test_what_is_no_look_is_none(fleet_of):
    renewal = look("2025-06-01", event="replaced") | {"reason": "scheduled"}
    assert looks_in(fleet_of, renewal).empty


def test_a_look_without_a_word_on_its_care_counts_as_a_glance(fleet_of, chance):
    assert looks_in(fleet_of, look("2025-06-01", thoroughness=""))["thoroughness"].tolist() == ["glanced"]
    assert chance(look("2026-05-01", thoroughness="")) == chance(look("2026-05-01", thoroughness="glanced"))


def test_looks_at_the_part_before_this_one_do_not_count(fleet_of):
    installed = pd.Series([pd.Timestamp("2025-01-01")], index=["I0"])
    found = looks_in(fleet_of, look("2024-06-01"), look("2025-06-01"), installed=installed)
    assert found["ago"].tolist() == pytest.approx([1.0], abs=0.01)


def test_a_renewal_wipes_out_the_looks_before_it(chance):
    renewed = {"item_id": "I0", "date": "2025-12-01", "event": "replaced", "reason": "scheduled"}
    with_old = chance(look("2025-11-01"), renewed)
    assert with_old == pytest.approx(chance(renewed), rel=1e-9)


def test_the_latest_looks_are_kept(fleet_of):
    dates = [f"{2018 + n}-06-01" for n in range(7)]
    found = looks_in(fleet_of, *(look(date) for date in dates))
    assert len(found) == MOST_LOOKS
    assert found["ago"].max() == pytest.approx(2026 - 2021, abs=0.02)
    assert found["ago"].is_monotonic_decreasing


def test_the_order_of_the_records_is_of_no_account(fleet_of, chance):
    records = [look("2025-06-01"), look("2026-05-01", thoroughness="glanced"), look("2024-09-01")]
    pd.testing.assert_frame_equal(looks_in(fleet_of, *records), looks_in(fleet_of, *reversed(records)))
    assert chance(*records) == chance(*reversed(records))


def test_looks_stand_oldest_first_with_the_empty_places_before_them(fleet_of):
    items = (HOSE, HOSE, HOSE)
    frame = looks_in(
        fleet_of,
        look("2025-06-01"),
        look("2026-03-01", thoroughness="glanced"),
        look("2026-03-01", item="I2"),
        items=items,
    )
    looks = looks_of_class(
        TRADE.classes["raw_water_hose"], pd.Series(["I0", "I1", "I2"]), frame, np.full(3, 10.0)
    )
    assert looks.age == pytest.approx(
        np.array([[-1.0, -0.25], [-np.inf, -np.inf], [-np.inf, -0.25]]), abs=0.01
    )
    assert looks.miss.shape == (3, 2, DETECTION_NODES)
    low, high = TRADE.classes["raw_water_hose"].detection["handled"]
    assert 1 - looks.miss[0, 0].mean() == pytest.approx((low + high) / 2, abs=0.02)
    assert looks.miss[0, 0].mean() < looks.miss[0, 1].mean()
    assert (looks.miss[1] == 1).all()


def test_looks_longer_ago_than_any_warning_are_left_out(fleet_of):
    frame = looks_in(fleet_of, look("2019-06-01"))
    ids = pd.Series(["I0"])
    assert looks_of_class(TRADE.classes["raw_water_hose"], ids, frame, np.full(len(ids), 5.0)) is None
    assert looks_of_class(TRADE.classes["raw_water_hose"], ids, frame, np.full(len(ids), 8.0)) is not None


def test_looks_at_other_parts_are_none_of_a_classes(fleet_of):
    frame = looks_in(fleet_of, look("2025-06-01"))
    assert looks_of_class(TRADE.classes["raw_water_hose"], pd.Series(["I7"]), frame, np.array([5.0])) is None


def test_nobody_is_thought_to_find_everything(fleet_of):
    frame = looks_in(fleet_of, look("2025-06-01", thoroughness="opened"))
    looks = looks_of_class(TRADE.classes["raw_water_hose"], pd.Series(["I0"]), frame, np.array([5.0]))
    assert looks.miss.min() >= 1 - BEST_DETECTION - 1e-12


def test_looks_lower_a_parts_chance_and_closer_looks_lower_it_more(rows_of):
    names = (
        "raw_water_hose",
        "shaft_log_hose",
        "hose_clamps",
        "face_shaft_seal",
        "bellows_drive",
        "rode_chain",
    )
    cares = ("", "glanced", "handled", "opened")
    items = [HOSE | {"item_id": f"{name}/{care}", "item_class": name} for name in names for care in cares]
    looks = [
        look("2026-05-20", thoroughness=care, item=f"{name}/{care}") for name in names for care in cares[1:]
    ]
    chances = rows_of(items, [SEEN, *looks], BOATS)["failure_probability"]
    for name in names:
        means = [chances[f"{name}/{care}"] for care in cares]
        assert means == sorted(means, reverse=True), name
        assert means[-1] < means[0], name


def test_one_more_clean_look_never_raises_the_risk(chance):
    dates = ("2024-04-01", "2025-04-01", "2025-10-01", "2026-03-01", "2026-05-30")
    chances = [chance(*(look(date) for date in dates[:number])) for number in range(6)]
    means = [mean for mean, _, _ in chances]
    # Without looks the interval is the posterior's own; with them it is that of the draws, to be compared among them.
    highs = [high for _, _, high in chances[1:]]
    for figures in (means, highs):
        assert all(after <= before * (1 + 1e-9) for before, after in pairwise(figures))


def test_a_look_of_long_ago_is_worth_little(chance):
    assert chance(look("2016-05-01"))[0] == pytest.approx(chance()[0], rel=0.01)
    assert chance(look("2026-05-30"))[0] < 0.95 * chance()[0]


def test_a_doubtful_finding_after_a_clean_look_is_not_hidden_by_it(rows_of):
    rows = rows_of([HOSE], [SEEN, look("2026-05-01"), look("2026-05-20", "failing")])
    assert rows.loc["I0", "failure_probability"] > 0.2
    assert "needing work" in rows.loc["I0", "why"]
