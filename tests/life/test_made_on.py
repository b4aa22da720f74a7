"""Rubber ages from its making and is watched from its fitting; nothing else cares when it was made."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.life.history import read_history

BELLOWS = {"item_class": "bellows_drive", "installed_on": "2020-05-01"}
OLD = BELLOWS | {"made_on": "2016-05-01"}
BOATS = ({"records_from": "2012-01-01"},)
FAILED = {"item_id": "I0", "date": "2024-05-01", "event": "failed", "finding": "failed"}
SEEN = {"vessel_id": "B1", "date": "2026-05-25", "event": "launched"}


@pytest.fixture
def told(fleet_of, trade, tables):
    def run(item, *records, boats=BOATS):
        return read_history(fleet_of([item], records, boats), trade.classes, tables)

    return run


def only(history):
    assert len(history.rows) == 1
    return history.rows.iloc[0]


def standing_of(assessed, item, *records):
    return assessed([item], records, BOATS).standing.iloc[0]


def test_rubber_ages_from_its_making_and_is_watched_from_its_fitting(told):
    row = only(told(OLD, FAILED))
    assert row["entry"] == pytest.approx(4.0, abs=0.01)
    assert row["lower"] == row["upper"] == pytest.approx(8.0, abs=0.01)


def test_a_survivor_is_no_older_in_years_watched_for_having_been_on_a_shelf(told):
    shelf, fresh = only(told(OLD, SEEN)), only(told(BELLOWS, SEEN))
    assert shelf["lower"] - shelf["entry"] == pytest.approx(fresh["lower"] - fresh["entry"], abs=1e-9)
    assert shelf["entry"] == pytest.approx(4.0, abs=0.01)
    assert fresh["entry"] == 0


def test_records_that_begin_after_the_fitting_still_bound_what_was_watched(told):
    row = only(told(OLD, FAILED, boats=({"records_from": "2022-05-01"},)))
    assert row["entry"] == pytest.approx(6.0, abs=0.01)


def test_the_day_it_was_put_in_is_kept_beside_that_of_its_making(told):
    span = told(OLD, SEEN).spans.iloc[-1]
    made, fitted = (pd.Timestamp(day).value / 86_400e9 for day in ("2016-05-01", "2020-05-01"))
    assert span["start_after"] == span["start_by"] == made
    assert span["put_in_after"] == span["put_in_by"] == fitted


def test_only_the_part_in_service_bears_the_date(told):
    renewal = {"item_id": "I0", "date": "2020-05-01", "event": "replaced", "reason": "condition"}
    first = {"item_id": "I0", "date": "2013-05-01", "event": "installed"}
    rows = told(OLD, first, renewal, SEEN).rows.set_index("ending")
    assert rows.loc["condition", "lower"] == pytest.approx(7.0, abs=0.01)
    assert rows.loc["condition", "entry"] == 0
    assert rows.loc["in_service", "entry"] == pytest.approx(4.0, abs=0.01)


def test_a_year_of_making_is_spread_over_the_year(told):
    rows = told(BELLOWS | {"made_on": "2016"}, FAILED).rows
    assert rows["count"].sum() == pytest.approx(1)
    assert rows["upper"].between(7.3, 8.4).all()
    # However old it was, it was watched for the same four years.
    assert (rows["upper"] - rows["entry"]).to_numpy() == pytest.approx(4.0, abs=0.01)


def test_made_in_the_year_it_was_put_in_it_was_made_before_that(told):
    rows = told(BELLOWS | {"made_on": "2020"}, FAILED).rows
    assert rows["upper"].between(4.0, 4.36).all()


def test_a_making_after_the_fitting_is_a_slip_and_dates_nothing(told):
    pd.testing.assert_frame_equal(
        told(BELLOWS | {"made_on": "2021-05-01"}, FAILED).rows, told(BELLOWS, FAILED).rows
    )


@pytest.mark.parametrize("name", ["hose_clamps", "float_switch"])
def test_what_is_not_rubber_ages_from_its_fitting(told, name):
    passed = {"item_id": "I0", "date": "2024-05-01", "event": "tested", "finding": "sound"}
    rows = [told(item | {"item_class": name}, passed).rows for item in (OLD, BELLOWS)]
    pd.testing.assert_frame_equal(*rows)
    assert rows[0]["entry"].item() == 0


def test_boats_without_records_gain_no_rows(told):
    history = told(OLD, boats=({},))
    assert history.rows.empty
    assert np.isnan(history.spans["records_from"].item())


def test_the_standing_age_of_rubber_is_that_since_its_making(assessed):
    assert standing_of(assessed, OLD)["age_years"] == pytest.approx(10.08, abs=0.01)
    assert standing_of(assessed, BELLOWS)["age_years"] == pytest.approx(6.08, abs=0.01)
    clamps = {"item_class": "hose_clamps"}
    assert standing_of(assessed, OLD | clamps)["age_years"] == pytest.approx(6.08, abs=0.01)


def test_a_year_of_making_bounds_the_standing_age(assessed):
    where = standing_of(assessed, BELLOWS | {"made_on": "2016"}, SEEN)
    assert where["age_known"]
    assert where["age_years"] == pytest.approx(9.91, abs=0.01)
    assert (where["youngest"], where["limit"]) == pytest.approx((9.41, 10.41), abs=0.01)


def test_rubber_of_unknown_fitting_is_dated_by_its_making(assessed):
    where = standing_of(assessed, {"item_class": "bellows_drive", "made_on": "2016-05-01"}, SEEN)
    assert where["age_years"] == pytest.approx(10.08, abs=0.01)


def test_older_rubber_is_likelier_to_let_go(rows_of):
    old, fresh = (rows_of([item], [SEEN], BOATS).loc["I0", "failure_probability"] for item in (OLD, BELLOWS))
    assert old > 1.3 * fresh


def test_a_look_from_before_it_was_put_in_is_no_look_at_it(rows_of):
    renewal = {"item_id": "I0", "date": "2020-05-01", "event": "replaced", "reason": "scheduled"}
    old = {"item_id": "I0", "date": "2020-04-20", "event": "inspected", "thoroughness": "opened"}
    chances = [
        rows_of([OLD], [old | {"finding": finding}, renewal, SEEN], BOATS).loc["I0", "failure_probability"]
        for finding in ("sound", "unknown")
    ]
    assert chances[0] == pytest.approx(chances[1], rel=1e-9)
