"""Fleets that many tests share: the embedded demo, assessed once, and small fleets made of rows."""

import csv
import datetime
import itertools
import os
from importlib.resources import as_file, files

import pytest
from hypothesis import settings

from riskmodel.fleet import load_fleet
from riskmodel.risk import assess

# Each property is tried on this many cases at every run; a loaded machine is no failure of it.
settings.register_profile("suite", max_examples=50, deadline=None)
settings.load_profile("suite")

# Pages follow COLUMNS: whoever runs the tests in a narrow window has the same pages as everybody else.
os.environ.pop("COLUMNS", None)

AS_OF = datetime.date(2026, 6, 1)
BOAT = {
    **{"vessel_id": "B1", "propulsion": "sterndrive", "fuel": "gasoline", "built_year": 2000, "length_m": 8},
    **{"value": 40000, "kept": "afloat", "checked_every_days": 7, "core": "solid", "shore_power": "yes"},
    **{"climate": "temperate"},
}


@pytest.fixture(scope="session")
def demo_fleet():
    with as_file(files("riskmodel.data.demo")) as folder:
        return load_fleet(folder)


@pytest.fixture(scope="session")
def demo(demo_fleet):
    return assess(demo_fleet)


@pytest.fixture(scope="session")
def written(tmp_path_factory):
    """Writes boats, items and records, each what it adds to a plain row, as a fleet's folder."""
    numbers = itertools.count()

    def write(items=None, records=None, boats=({},), settings=""):
        folder = tmp_path_factory.mktemp("fleet") / f"boats{next(numbers)}"
        folder.mkdir()
        _table(folder / "vessels.csv", [BOAT | boat for boat in boats])
        if items is not None:
            rows = [
                {"item_id": f"I{n}", "vessel_id": "B1", "quantity": 1} | item for n, item in enumerate(items)
            ]
            _table(folder / "items.csv", rows)
        if records:
            _table(folder / "records.csv", list(records))
        (folder / "settings.toml").write_text(settings)
        return folder

    return write


@pytest.fixture(scope="session")
def fleet_of(written):
    """The same, loaded as of 1 June 2026."""

    def load(items=None, records=None, boats=({},), settings="", as_of=AS_OF):
        return load_fleet(written(items, records, boats, settings), as_of=as_of, today=AS_OF)

    return load


@pytest.fixture(scope="session")
def assessed(fleet_of):
    """The same, assessed; the frame has the items' ids as its index."""

    def run(items=None, records=None, boats=({},), settings="", until=None):
        return assess(fleet_of(items, records, boats, settings), until=until)

    return run


@pytest.fixture(scope="session")
def rows_of(assessed):
    """The item risk frame of the same, by item."""

    def run(items=None, records=None, boats=({},), settings="", until=None):
        return assessed(items, records, boats, settings, until).frame.set_index("item_id")

    return run


@pytest.fixture(scope="session")
def two_boats():
    """Arguments for a small fleet with a bit of everything."""
    return {
        "boats": [
            {"vessel_id": "B1", "checked_every_days": 14, "core": "balsa"},
            {
                "vessel_id": "B2",
                "propulsion": "sail_shaft",
                "fuel": "diesel",
                "kept": "mooring",
                "value": 60000,
            },
        ],
        "items": [
            {"item_class": "bellows_drive", "installed_on": "2022-05-02"},
            {"item_class": "fuel_feed_hose", "installed_on": "2012-05-02"},
            {"item_class": "bilge_pump", "installed_on": "2019-05-02"},
            {"item_class": "float_switch", "installed_on": "2019-05-02"},
            {"item_class": "hose_clamps", "installed_on": "2015", "quantity": 40},
            {"item_class": "shaft_packing", "vessel_id": "B2", "installed_on": "2018-04-02"},
            {"item_class": "bilge_pump", "vessel_id": "B2"},
            {"item_class": "float_switch", "vessel_id": "B2"},
            {"item_class": "deck_bedding", "vessel_id": "B2", "quantity": 30},
            {"item_class": "rode_chain", "vessel_id": "B2", "installed_on": "2010-04-01"},
            {"item_class": "rode_shackle_snubber", "vessel_id": "B2", "installed_on": "2016-04-01"},
        ],
        "records": [
            {"item_id": "I0", "date": "2025-05-01", "event": "inspected", "finding": "sound"},
            {"item_id": "I1", "date": "2026-04-20", "event": "inspected", "finding": "failing"},
            {"item_id": "I2", "date": "2024-05-01", "event": "tested", "finding": "sound"},
            {"item_id": "I3", "date": "2026-05-05", "event": "tested", "finding": "failed"},
            {"item_id": "I5", "date": "2018-04-01", "event": "failed", "finding": "failed"},
            {"item_id": "I5", "date": "2018-04-02", "event": "replaced", "reason": "failure"},
            {"item_id": "I10", "date": "2024-04-02", "event": "inspected", "finding": "suspect"},
            {"vessel_id": "B2", "date": "2025-03-12", "event": "hauled"},
            {"vessel_id": "B2", "date": "2025-04-12", "event": "launched"},
        ],
    }


def _table(path, rows):
    columns = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        writer.writerows(rows)
