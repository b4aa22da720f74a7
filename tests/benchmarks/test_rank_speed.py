"""Measures how fast fleets are ranked: the demo from a cold start, and a large fleet of many classes."""

import csv
import subprocess
import sys
import time
from importlib.resources import files

import numpy as np
import pytest

LAUNCH = (
    "from importlib.metadata import entry_points as points; "
    "points(group='console_scripts', name='riskmodel')['riskmodel'].load()()"
)
MEASURED = """
import resource, sys, time
start = time.perf_counter()
from riskmodel.fleet import load_fleet
fleet = load_fleet(sys.argv[1])
loaded = time.perf_counter()
from riskmodel.risk import assess
result = assess(fleet)
done = time.perf_counter()
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(f"{len(result.lives.posterior)} classes, {len(result.frame):,} items, {len(fleet.vessels):,} boats, "
      f"{len(fleet.records):,} records: loaded in {loaded - start:.2f} s, ranked in {done - loaded:.2f} s, "
      f"{time.process_time():.2f} s of processor in all, peak {peak:.0f} MB")
"""
CLASSES, ITEMS, BOATS, RECORDS = 200, 20_000, 2_000, 60_000
BUDGET_COLD, BUDGET_LARGE = 2.0, 10.0


@pytest.mark.benchmark
def test_the_demo_is_ranked_from_a_cold_start():
    seconds = []
    for _ in range(5):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", LAUNCH, "rank", "--quiet"], check=True, capture_output=True)
        seconds.append(time.perf_counter() - start)
    best, usual = min(seconds), np.median(seconds)
    print(f"\ndemo ranked cold: {best:.2f} s at best, {usual:.2f} s as a rule (budget {BUDGET_COLD:g} s)")


@pytest.mark.benchmark
def test_a_large_fleet_of_many_classes_is_ranked(tmp_path):
    classes = _overlay(tmp_path / "trade")
    _fleet(tmp_path, classes)
    told = subprocess.run(
        [sys.executable, "-c", MEASURED, str(tmp_path)], check=False, capture_output=True, text=True
    )
    assert told.returncode == 0, told.stderr
    print(f"\n{told.stdout.strip()} (budget {BUDGET_LARGE:g} s)")
    assert f"{CLASSES} classes, {ITEMS:,} items" in told.stdout


def _overlay(folder):
    """Copies of the shipped classes under new names, until there are CLASSES in all."""
    folder.mkdir()
    shipped = [row["item_class"] for row in _shipped("classes")]
    copies = [
        (f"{shipped[n % len(shipped)]}_{n}", shipped[n % len(shipped)]) for n in range(CLASSES - len(shipped))
    ]
    tables = [
        entry.name.removesuffix(".csv")
        for entry in files("riskmodel.data.trade").iterdir()
        if entry.name.endswith(".csv")
    ]
    for table in tables:
        rows = _shipped(table)
        if "item_class" not in rows[0] or table in ("outfits", "practice"):
            continue
        mine = [row | {"item_class": new} for new, old in copies for row in rows if row["item_class"] == old]
        with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(mine)
    return [*shipped, *(new for new, _ in copies)]


def _shipped(table):
    text = files("riskmodel.data.trade").joinpath(f"{table}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


def _fleet(folder, classes):
    """Boats, parts of every class and records of all sorts, drawn from one seed."""
    random = np.random.default_rng(20)
    kinds = ["sterndrive", "inboard_shaft", "sail_shaft", "outboard"]
    boats = [
        f"B{n},{kinds[n % 4]},{random.integers(1985, 2016)},{random.uniform(6, 15):.1f},{random.integers(9, 300)}000,"
        f"{random.choice(['afloat', 'mooring', 'trailer'])},{random.choice([3, 7, 14, 30])},2016-01-01"
        for n in range(BOATS)
    ]
    head = "vessel_id,propulsion,built_year,length_m,value,kept,checked_every_days,records_from\n"
    (folder / "vessels.csv").write_text(head + "\n".join(boats) + "\n")
    days = np.datetime64("2016-01-01")
    installed = np.where(
        random.random(ITEMS) < 0.3, "", np.datetime_as_string(days + random.integers(0, 3000, ITEMS))
    )
    items = [f"I{n},B{n % BOATS},{classes[n % len(classes)]},{installed[n]}" for n in range(ITEMS)]
    (folder / "items.csv").write_text("item_id,vessel_id,item_class,installed_on\n" + "\n".join(items) + "\n")
    events = random.choice(["inspected", "inspected", "tested", "replaced"], RECORDS)
    findings = np.where(
        events == "replaced", "", random.choice(["sound"] * 18 + ["suspect", "failing"], RECORDS)
    )
    reasons = np.where(
        events == "replaced", random.choice(["scheduled", "condition", "failure"], RECORDS), ""
    )
    dates = np.datetime_as_string(np.datetime64("2024-04-01") + random.integers(0, 700, RECORDS))
    owners = random.integers(0, ITEMS, RECORDS)
    records = [
        ",".join(row) for row in zip((f"I{n}" for n in owners), dates, events, findings, reasons, strict=True)
    ]
    (folder / "records.csv").write_text("item_id,date,event,finding,reason\n" + "\n".join(records) + "\n")
    (folder / "settings.toml").write_text('as_of = 2026-06-01\ntrade = "trade"\n')
