"""Measures a schedule of twelve million boats with ten parts each from Parquet to the page, and one of a million.

Run with ``python -m pytest -m benchmark -s tests/benchmarks/test_schedule_speed.py``. It takes some minutes, 1 GB of
disk and, as it says itself, up to 4 GB of memory. Memory is what all processes of the command hold together, each page
counted once (the sum of Pss), looked at four times a second; seconds are those of the command as a whole. Both sizes
are run in turn on the same machine: how far their times are apart, beside how far their sizes are, is the finding.
"""

import os
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from riskmodel.evaluate.synthetic_book import write_synthetic_book

AS_OF = date(2026, 6, 1)
SMALL, LARGE, PARTS = 1_000_000, 12_000_000, 10
MINUTES, GIGABYTES = 5.0, 4.0
LOOK_SECONDS = 0.25
COMMAND = (
    "from importlib.metadata import entry_points; "
    "entry_points(group='console_scripts', name='riskmodel')['riskmodel'].load()()"
)


@pytest.mark.benchmark
def test_twelve_million_boats(tmp_path):
    small, large = (measured(tmp_path, boats) for boats in (SMALL, LARGE))
    ratio = large[0] / small[0]
    print(f"\n{LARGE / SMALL:.0f} times the boats: {ratio:.1f} times the seconds")
    within = large[0] < 60 * MINUTES and large[1] < GIGABYTES
    print(f"under {MINUTES:g} minutes and {GIGABYTES:g} GB: {'yes' if within else 'no'}")


def measured(folder, boats):
    """Seconds, and gigabytes at the most, of `riskmodel exposure` on an invented schedule."""
    book = folder / f"book{boats}"
    write_synthetic_book(book, boats, PARTS, as_of=AS_OF)
    page = folder / f"page{boats}.txt"
    command = [sys.executable, "-c", COMMAND, "exposure", str(book), "--as-of", str(AS_OF)]
    started, most = time.perf_counter(), 0
    with subprocess.Popen(
        [*command, "--deductible", "500", "--out", str(page)], stderr=subprocess.DEVNULL
    ) as run:
        while run.poll() is None:
            most = max(most, held(run.pid))
            time.sleep(LOOK_SECONDS)
    seconds = time.perf_counter() - started
    assert run.returncode == 0
    assert f"{boats:,} boats" in page.read_text(encoding="utf-8")
    for file in book.iterdir():
        file.unlink()
    print(
        f"\n{boats:,} boats, {boats * PARTS:,} parts: {seconds:.0f} s, {most / 1e9:.2f} GB at the most",
        end="",
    )
    return seconds, most / 1e9


def held(process):
    """Bytes that a process and all it has started hold together (Linux: /proc)."""
    found = 0
    for each in (process, *started_by(process)):
        try:
            lines = Path(f"/proc/{each}/smaps_rollup").read_text(encoding="ascii").splitlines()
        except OSError:
            # It has ended meanwhile.
            continue
        found += sum(1024 * int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return found


def started_by(process):
    """Ids of the processes that one has started, and those that they have."""
    parents = {}
    for each in os.listdir("/proc"):
        if each.isdigit():
            try:
                told = Path(f"/proc/{each}/stat").read_text(encoding="ascii", errors="replace")
            except OSError:
                continue
            parents.setdefault(int(told.rpartition(")")[2].split()[1]), []).append(int(each))
    found = list(parents.get(process, []))
    for each in found:
        found.extend(parents.get(each, []))
    return found
