"""Measures how fast hulls are filled, by closed form and by an integrator that goes boat by boat, in one run.

Run with ``python -m pytest -m benchmark -s tests/benchmarks/test_flooding_speed.py``.
"""

import time

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from riskmodel.consequence.flooding.filling import filling_time, leak
from riskmodel.consequence.flooding.inflow import inflow_rate

BOATS, INTEGRATED = 5_000_000, 200
DEPTH, SETTLED = 0.5, 0.2
BUDGET_SECONDS = 2.0


@pytest.mark.benchmark
def test_five_million_boats_whose_pumps_stop_fill_within_two_seconds():
    generator = np.random.default_rng(5)
    volume, area = generator.uniform(0.1, 10, BOATS), 10 ** generator.uniform(-6, -2.5, BOATS)
    coming = inflow_rate(area, DEPTH)
    pump, lasts = 0.7 * coming, 0.8 * volume / coming
    started = time.perf_counter()
    times = filling_time(volume, leak(area, DEPTH, settled_depth=SETTLED), pump=pump, pump_seconds=lasts)
    ours = time.perf_counter() - started
    started = time.perf_counter()
    theirs = [_integrated(volume[i], area[i], pump[i], lasts[i]) for i in range(INTEGRATED)]
    each = (time.perf_counter() - started) / INTEGRATED
    print(
        f"\n{BOATS:,} boats: {ours:.2f} s; integrator {each * BOATS:,.0f} s, {each * BOATS / ours:,.0f} times"
    )
    np.testing.assert_allclose(times[:INTEGRATED], theirs, rtol=1e-5)
    assert ours < BUDGET_SECONDS


def _integrated(volume, area, pump, lasts):
    def rate(_, v, thrown):
        return inflow_rate(area, DEPTH + (SETTLED - DEPTH) * v / volume) - thrown

    def full(_, v, thrown):
        return v[0] - volume

    full.terminal = True
    first = solve_ivp(rate, (0, lasts), [0.0], "LSODA", args=(pump,), rtol=1e-8, atol=1e-10)
    rest = solve_ivp(
        rate, (lasts, 1e9), first.y[:, -1], "LSODA", events=full, args=(0.0,), rtol=1e-8, atol=1e-10
    )
    return rest.t_events[0][0]
