"""Writes small fleets to disk for the tests of the fleet's door."""

import datetime

import pytest

from riskmodel.fleet import check_fleet, load_fleet

TODAY = datetime.date(2026, 6, 1)

VESSELS = """vessel_id,propulsion,value
Wren,sterndrive,30000
Plover,sail_shaft,60000
"""
ITEMS = """item_id,vessel_id,item_class,installed_on
W1,Wren,bellows_drive,2015-05-02
P1,Plover,shaft_packing,2016
"""
RECORDS = """item_id,vessel_id,date,event,hours
W1,,2018-05-01,inspected,120
,Plover,2019-10-12,hauled,
"""


@pytest.fixture
def today():
    return TODAY


@pytest.fixture
def write(tmp_path):
    """Writes tables given as text into one folder; a table given as None is not written."""

    def written(vessels=VESSELS, items=None, records=None, settings=None, periods=None, claims=None):
        folder = tmp_path / "boats"
        folder.mkdir(exist_ok=True)
        tables = {
            "vessels.csv": vessels,
            "items.csv": items,
            "records.csv": records,
            "periods.csv": periods,
            "claims.csv": claims,
            "settings.toml": settings,
        }
        for name, text in tables.items():
            if text is not None:
                (folder / name).write_text(text, encoding="utf-8")
        return folder

    return written


@pytest.fixture
def load(write):
    def loaded(as_of=None, **tables):
        return load_fleet(write(**tables), as_of=as_of, today=TODAY)

    return loaded


@pytest.fixture
def problems(write):
    """The problems of a fleet as their messages."""

    def found(as_of=None, **tables):
        return [str(problem) for problem in check_fleet(write(**tables), as_of=as_of, today=TODAY)]

    return found


@pytest.fixture
def plain():
    """A fleet of two boats, two items and two records, all in order."""
    return {"vessels": VESSELS, "items": ITEMS, "records": RECORDS}
