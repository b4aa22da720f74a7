"""Measures what leaving out broken rows costs on a schedule of a million boats, one in a hundred of them broken."""

import datetime
import time

import numpy as np
import pandas as pd
import pytest

from riskmodel.fleet import check_fleet, load_fleet, load_fleet_without_bad, write_problems

BOATS, BROKEN = 1_000_000, 10_000
TODAY = datetime.date(2026, 6, 1)


@pytest.mark.benchmark
@pytest.mark.parametrize("kind", ["csv", "parquet"])
def test_a_million_boats_without_their_broken_rows(tmp_path, kind):
    schedule, places = _schedule()
    clean, broken = tmp_path / "clean", tmp_path / "broken"
    _write(schedule.drop(places), clean, kind)
    _write(_spoilt(schedule, places), broken, kind)
    whole, _ = _timed(lambda: load_fleet(clean, today=TODAY))
    seconds, (fleet, left) = _timed(lambda: load_fleet_without_bad(broken, today=TODAY))
    checked, problems = _timed(lambda: check_fleet(broken, today=TODAY))
    written, _ = _timed(lambda: write_problems(tmp_path / "bad.csv", problems))
    print(
        f"\n{kind}: {BOATS:,} boats less {BROKEN:,} broken in {seconds:.1f} s, the others alone in {whole:.1f} s: "
        f"{seconds / whole:.2f} times as long; checked in {checked:.1f} s, problems written in {written:.2f} s"
    )
    assert (len(fleet.vessels), left.boats, len(problems)) == (BOATS - BROKEN, BROKEN, BROKEN)


def _timed(work):
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


def _schedule():
    random = np.random.default_rng(7)
    schedule = pd.DataFrame(
        {
            "vessel_id": [f"B{boat}" for boat in range(BOATS)],
            "propulsion": random.choice(["sterndrive", "outboard", "sail_shaft"], BOATS),
            "value": np.round(random.lognormal(10.3, 0.7, BOATS)).astype(int).astype(str),
            "length_m": np.round(random.uniform(5, 14, BOATS), 1),
            "built_year": random.integers(1975, 2026, BOATS),
            "home_port": [f"H{port}" for port in random.integers(0, 500, BOATS)],
        }
    )
    return schedule, random.choice(BOATS, BROKEN, replace=False)


def _spoilt(schedule, places):
    spoilt = schedule.copy()
    # Every broken word is another, as in life.
    spoilt.loc[places[::2], "propulsion"] = [f"sterndrve {place}" for place in places[::2]]
    spoilt.loc[places[1::2], "value"] = [f"about {place}" for place in places[1::2]]
    return spoilt


def _write(schedule, folder, kind):
    folder.mkdir()
    if kind == "csv":
        schedule.to_csv(folder / "vessels.csv", index=False)
    else:
        schedule.to_parquet(folder / "vessels.parquet", index=False)
