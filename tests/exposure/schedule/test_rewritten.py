"""A fleet from spreadsheets, written as a schedule, is the same boats and parts."""

from datetime import date

import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest

from riskmodel.exposure.schedule import rewritten
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.running import one_after_another
from riskmodel.exposure.schedule.standing_for import standing_for

BOATS = [
    {"vessel_id": "B1", "shore_power": "no", "inception": "2026-03-01", "deductible_percent": 2},
    {"vessel_id": "B2", "shore_power": "", "length_m": "", "built_year": "", "home_port": "Quay"},
]
ITEMS = [
    {"item_class": "bilge_pump", "installed_on": "2019-05-02"},
    {"item_class": "hose_clamps", "installed_on": "2015", "quantity": 40},
    {"item_class": "shaft_packing", "vessel_id": "B2"},
    {"item_class": "fuel_feed_hose", "vessel_id": "B2", "installed_on": "2012-05-02", "recall": "notice 7"},
]


@pytest.fixture(scope="module")
def fleet(fleet_of):
    return fleet_of(ITEMS, None, BOATS)


@pytest.fixture(scope="module")
def schedule(fleet, tmp_path_factory):
    return rewritten.schedule_of(fleet, tmp_path_factory.mktemp("schedule"))


@pytest.fixture(scope="module")
def counted(schedule):
    return read_schedule(schedule, one_after_another, lambda *_: None)


def test_only_what_was_given_is_written(schedule):
    table = pq.read_table(schedule.folder / "vessels.parquet").to_pandas().set_index("vessel_id")
    assert table["shore_power"].tolist() == ["no", None]
    assert table.loc["B1", "inception"] == date(2026, 3, 1)
    assert pd.isna(table.loc["B2", "length_m"])
    # Nobody said how many hulls: the default is filled in later, once for a kind.
    assert "hulls" not in table.columns


def test_boats_and_parts_are_all_there(counted, fleet):
    assert counted.listed.tolist() == [True, True]
    assert counted.number.sum() == fleet.items["quantity"].sum() == 43
    assert counted.recalled == 1
    assert counted.boats.value.sum() == 1000 * fleet.vessels["value"].sum()
    assert sorted(counted.boats.ports) == ["", "Quay"]


def test_the_kinds_are_the_fleets_boats_with_its_defaults(schedule, counted, fleet):
    kinds = standing_for(schedule, counted)
    ours = kinds.learned.fleet.vessels.sort_values("shore_power", ignore_index=True)
    theirs = fleet.vessels.sort_values("shore_power", ignore_index=True)
    for column in ("length_m", "checked_every_days", "hulls", "battery_ah"):
        np.testing.assert_allclose(ours[column], theirs[column])
    for column in ("shore_power", "water", "kept", "fuel"):
        assert ours[column].tolist() == theirs[column].tolist()
    assert kinds.learned.fleet.source == fleet.source
    assert set(fleet.notes) <= set(kinds.learned.fleet.notes)


def test_boats_are_told_one_by_one_where_anything_is_told_of_one(fleet, fleet_of, monkeypatch):
    assert not rewritten.is_large(fleet)
    monkeypatch.setattr(rewritten, "LARGE", 1)
    assert rewritten.is_large(fleet)
    record = {"item_id": "I0", "date": "2025-05-01", "event": "tested", "finding": "sound"}
    assert not rewritten.is_large(fleet_of(ITEMS, [record], BOATS))
