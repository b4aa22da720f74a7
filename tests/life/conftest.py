"""Small hand-made fleets written to disk, and the history their records tell."""

import datetime

import pytest

from riskmodel.fleet import load_fleet
from riskmodel.life import LifeRows, fit_life
from riskmodel.life.ages import age_table
from riskmodel.life.history import read_history
from riskmodel.life.seed import seed_class
from riskmodel.trade import load_trade

TODAY = datetime.date(2026, 6, 1)
VESSELS = "vessel_id,propulsion,value,built_year,records_from\nWren,sterndrive,30000,2005,2012-01-01\n"
ITEM_HEAD = "item_id,vessel_id,item_class,installed_on,installed_after,installed_by,quantity"
RECORD_HEAD = "item_id,vessel_id,date,event,finding,reason"


@pytest.fixture(scope="session")
def trade():
    return load_trade()


@pytest.fixture(scope="session")
def tables(trade):
    """Age tables of the few classes these fleets carry, by their priors."""
    found = {}
    for name in ("bellows_drive", "float_switch", "hose_clamps"):
        seed = seed_class(trade.classes[name], (0.2, 0.45, 0.7))
        found[name] = age_table(fit_life(LifeRows.none(), seed.prior), seed.upkeep)
    return found


@pytest.fixture
def fleet(tmp_path):
    """A fleet of rows given as text without their heads; one sterndrive boat built in 2005 unless told."""

    def loaded(items=(), records=(), vessels=VESSELS):
        for name, head, rows in (("items", ITEM_HEAD, items), ("records", RECORD_HEAD, records)):
            text = "\n".join([head, *(row + "," * (head.count(",") - row.count(",")) for row in rows)])
            (tmp_path / f"{name}.csv").write_text(text + "\n", encoding="utf-8")
        (tmp_path / "vessels.csv").write_text(vessels, encoding="utf-8")
        return load_fleet(tmp_path, as_of=TODAY, today=TODAY)

    return loaded


@pytest.fixture
def history(fleet, trade, tables):
    def read(items=(), records=(), vessels=VESSELS):
        return read_history(fleet(items, records, vessels), trade.classes, tables)

    return read
