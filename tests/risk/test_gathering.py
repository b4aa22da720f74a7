"""What the chances of a class's parts rest on, brought together; and unknown ages with looks."""

import numpy as np
import pytest

from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.gathering import gather_parts
from riskmodel.risk.looked import clean_looks
from riskmodel.risk.standing import days_to_dates

SEEN = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}
BOATS = (
    {"vessel_id": "B1", "records_from": "2015-01-01"},
    {"vessel_id": "B2", "records_from": "2015-01-01", "climate": "tropical"},
)
ITEMS = (
    {"item_class": "raw_water_hose", "installed_on": "2015-05-01", "batch": "L-7"},
    {"item_class": "raw_water_hose"},
    {"item_class": "raw_water_hose", "installed_on": "2019-05-01", "batch": "K-2", "vessel_id": "B2"},
    {"item_class": "float_switch", "installed_on": "2019-05-01"},
    {"item_class": "raw_water_impeller", "installed_on": "2022-05-01", "installed_hours": 100},
)
RECORDS = (
    SEEN,
    {"vessel_id": "B1", "date": "2026-05-25", "event": "hours_read", "hours": 340},
    {
        "item_id": "I0",
        "date": "2026-04-01",
        "event": "inspected",
        "finding": "sound",
        "thoroughness": "handled",
    },
    {
        "item_id": "I1",
        "date": "2025-04-01",
        "event": "inspected",
        "finding": "sound",
        "thoroughness": "opened",
    },
    {
        "item_id": "I3",
        "date": "2025-06-01",
        "event": "inspected",
        "finding": "sound",
        "thoroughness": "glanced",
    },
)


@pytest.fixture(scope="module")
def found(assessed):
    return assessed(list(ITEMS), list(RECORDS), BOATS)


@pytest.fixture(scope="module")
def gathered(found):
    """Parts of a class: as believed, draw by draw, and the spread of their pace; with their standing rows."""

    def run(name):
        rows = found.standing[(found.fleet.items["item_class"] == name).to_numpy()].reset_index(drop=True)
        installed = days_to_dates(found.lives.history.spans.groupby("item_id")["start_after"].last())
        looks = clean_looks(found.fleet, installed)
        return gather_parts(found.trade.classes[name], rows, found.lives, looks, (found.trade, Draws())), rows

    return run


def test_parts_come_in_the_order_of_their_rows(gathered):
    (middle, _, _), rows = gathered("raw_water_hose")
    assert rows["item_id"].tolist() == ["I0", "I1", "I2"]
    known = middle.cell < 0
    assert known.tolist() == [True, False, True]
    assert middle.age[known] == pytest.approx(rows.loc[known, "age_years"])
    assert (middle.quantity == 1).all()


def test_both_forms_differ_in_their_pace_alone(gathered):
    (middle, by_draw, pace_sd), _ = gathered("raw_water_hose")
    kinds = len(pace_sd)
    assert middle.speed.shape == (kinds, 1)
    assert by_draw.speed.shape == (kinds, DRAWS)
    assert np.exp(np.log(by_draw.speed).mean(axis=1)) == pytest.approx(middle.speed[:, 0], rel=1e-9)
    assert by_draw.age is middle.age
    usual, hot = middle.kind[0], middle.kind[2]
    assert (middle.speed[usual, 0], pace_sd[usual]) == (1, 0)
    assert middle.speed[hot, 0] > 2
    assert pace_sd[hot] > 0


def test_looks_go_to_the_parts_they_were_at(gathered):
    (middle, _, _), _ = gathered("raw_water_hose")
    assert middle.looked.tolist() == [True, True, False]
    assert middle.looks.age[0, -1] == pytest.approx(-61 / 365.25)


def test_parts_that_fail_unseen_get_no_credit_from_a_warning_that_did_not_show(gathered):
    (middle, _, _), rows = gathered("float_switch")
    assert middle.looks is None
    assert not middle.looked.any()
    # A glance is no test: what was never proved to work counts from new.
    assert middle.gap == pytest.approx(rows["gap_years"].fillna(rows["age_years"]))


def test_a_lot_is_a_lot_though_nobody_has_records_of_it(gathered, found):
    (middle, _, _), _ = gathered("raw_water_hose")
    assert middle.lot.tolist() == [1, -1, 0]
    assert len(middle.lots) == 2
    assert middle.lot_correction > 1
    assert set(found.lives.lots) == {("raw_water_hose", "L-7")}
    assert middle.lots[0].mean == pytest.approx(1.0)
    assert middle.lots[1] is found.lives.lots["raw_water_hose", "L-7"]


def test_hours_are_those_on_the_part(gathered, found):
    (middle, _, _), _ = gathered("raw_water_impeller")
    assert (middle.hours.tolist(), middle.unmetered.tolist()) == ([240.0], [0.0])
    assert middle.rate[0] > 0
    assert middle.rate_sd == found.trade.care["hours_rate_log_sd"].typical


def test_what_no_meter_tells_runs_with_the_age(assessed):
    items = [
        {"item_class": "raw_water_impeller", "installed_on": "2022-06-01"},
        {"item_class": "raw_water_impeller"},
    ]
    found = assessed(items, [SEEN], BOATS[:1])
    rows = found.standing.reset_index(drop=True)
    looks = clean_looks(
        found.fleet, days_to_dates(found.lives.history.spans.groupby("item_id")["start_after"].last())
    )
    tools = found.trade, Draws()
    middle, _, _ = gather_parts(found.trade.classes["raw_water_impeller"], rows, found.lives, looks, tools)
    assert (middle.hours == 0).all()
    assert middle.unmetered[0] == pytest.approx(4.0, abs=0.01)
    # Of an unknown age, the age it may be expected to have.
    assert middle.unmetered[1] == pytest.approx(float(middle.weights[middle.cell[1], 1] @ middle.ages))
    assert 0 < middle.unmetered[1] < 26


def test_an_unknown_age_with_clean_looks_is_safer_than_one_without(rows_of):
    def chance(*records, care="opened"):
        looks = [
            {"item_id": "I0", "date": date, "event": "inspected", "finding": "sound", "thoroughness": care}
            for date in records
        ]
        rows = rows_of([{"item_class": "raw_water_hose"}], [SEEN, *looks], BOATS[:1])
        return rows.loc["I0", ["failure_probability", "failure_high"]].to_numpy(dtype=float)

    none, one, two = chance(), chance("2026-05-20"), chance("2025-10-20", "2026-05-20")
    glance = chance("2026-05-20", care="glanced")
    assert (one < none).all()
    assert two[0] <= one[0]
    assert one[0] < glance[0] < none[0]


def test_every_part_of_the_fleet_has_a_chance_within_its_interval(found):
    frame = found.frame
    assert frame["failure_probability"].between(0, 1).all()
    assert (frame["failure_low"] <= frame["failure_probability"]).all()
    assert (frame["failure_probability"] <= frame["failure_high"]).all()
