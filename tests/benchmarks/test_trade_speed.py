"""How long the knowledge base takes to read: it is part of every start."""

import time

import pytest

from riskmodel.trade.load import _load


@pytest.mark.benchmark
def test_the_shipped_tables_are_read():
    times = []
    for _ in range(5):
        start = time.perf_counter()
        trade = _load(None)
        times.append(time.perf_counter() - start)
    print(f"\n{len(trade.classes)} classes and all tables read in {1000 * min(times):.0f} ms at best")
    assert trade.physics
