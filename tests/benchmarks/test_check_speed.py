"""Measures how fast a large items table loads and is checked."""

import datetime
import time

import numpy as np
import pytest

from riskmodel.fleet import load_fleet

ITEMS = 1_000_000


@pytest.mark.benchmark
def test_a_million_items_load_and_check(tmp_path):
    _write(tmp_path)
    start = time.perf_counter()
    fleet = load_fleet(tmp_path, today=datetime.date(2026, 1, 1))
    seconds = time.perf_counter() - start
    print(f"\n{ITEMS:,} items loaded and checked in {seconds:.2f} s: {ITEMS / seconds:,.0f} rows per second")
    assert len(fleet.items) == ITEMS


def _write(folder):
    random = np.random.default_rng(7)
    boats = 20_000
    (folder / "vessels.csv").write_text(
        "vessel_id,propulsion,value\n" + "".join(f"B{boat},sterndrive,30000\n" for boat in range(boats))
    )
    columns = [
        [f"I{item}" for item in range(ITEMS)],
        [f"B{boat}" for boat in random.integers(0, boats, ITEMS)],
        random.choice(["bellows_drive", "fuel_fill_hose", "bilge_pump", "hose_clamps"], ITEMS).tolist(),
        random.choice(["port", "starboard", ""], ITEMS).tolist(),
        np.datetime_as_string(np.datetime64("2005-01-01") + random.integers(0, 7000, ITEMS)).tolist(),
        [str(hours) for hours in random.integers(0, 3000, ITEMS)],
        [f"L{lot}" for lot in random.integers(0, 500, ITEMS)],
        random.choice(["1", "2", "4"], ITEMS).tolist(),
    ]
    head = "item_id,vessel_id,item_class,position,installed_on,installed_hours,batch,quantity\n"
    (folder / "items.csv").write_text(head + "\n".join(map(",".join, zip(*columns, strict=True))))
