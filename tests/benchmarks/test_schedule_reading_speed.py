"""Measures what broken rows cost in a schedule of a million parts, one in a hundred rows of both tables broken."""

import datetime
import time

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from riskmodel.errors import TableError
from riskmodel.evaluate.synthetic_book import write_synthetic_book
from riskmodel.exposure.schedule.door import open_schedule
from riskmodel.exposure.schedule.reading import read_schedule, read_sound_rows
from riskmodel.exposure.schedule.running import by_processes

BOATS, PARTS = 100_000, 10
DAY = datetime.date(2026, 6, 1)


@pytest.mark.benchmark
def test_a_million_parts_with_and_without_broken_rows(tmp_path):
    clean, broken = tmp_path / "clean", tmp_path / "broken"
    write_synthetic_book(clean, BOATS, PARTS, as_of=DAY)
    broken.mkdir()
    _spoil(clean / "vessels.parquet", broken, "propulsion")
    _spoil(clean / "items.parquet", broken, "item_class")
    with by_processes() as run:
        _read(clean, read_schedule, run)  # the processes have started
        whole, found = _read(clean, read_schedule, run)
        refused, problems = _read(broken, read_schedule, run)
        skipped, rest = _read(broken, read_sound_rows, run)
    print(
        f"\n{BOATS:,} boats and {found.parts:,} parts: sound {whole:.1f} s; one row in a hundred broken: refused in "
        f"{refused:.1f} s, {refused / whole:.2f} times as long; left out in {skipped:.1f} s, {skipped / whole:.2f} "
        f"times as long ({rest.left_out.rows:,} boats left out)"
    )
    assert len(problems) == len(rest.problems) == (BOATS + BOATS * PARTS) // 100


@pytest.mark.benchmark
def test_one_row_group_of_everything_is_read_no_slower_than_by_many_times(tmp_path):
    cut, whole = tmp_path / "cut", tmp_path / "whole"
    write_synthetic_book(cut, 400_000, PARTS, as_of=DAY)
    whole.mkdir()
    for name in ("vessels.parquet", "items.parquet"):
        table = pq.read_table(cut / name)
        pq.write_table(table, whole / name, row_group_size=len(table), compression="zstd")
    with by_processes() as run:
        _read(cut, read_schedule, run)
        many, found = _read(cut, read_schedule, run)
        one, same = _read(whole, read_schedule, run)
    print(
        f"\n4,000,000 parts in row groups of a million {many:.1f} s, in one of all {one:.1f} s: {one / many:.2f} times"
    )
    np.testing.assert_array_equal(found.number, same.number)


def _read(folder, read, run):
    start = time.perf_counter()
    try:
        found = read(open_schedule(folder, as_of=DAY, today=DAY), run, lambda *_: None)
    except TableError as error:
        found = error.problems
    return time.perf_counter() - start, found


def _spoil(path, folder, column):
    table = pq.read_table(path)
    words = table.column(column).to_numpy(zero_copy_only=False).astype(object)
    # Every broken word is another, as in life.
    words[::100] = [f"wrong {place}" for place in range(0, len(words), 100)]
    place = table.column_names.index(column)
    pq.write_table(table.set_column(place, column, pa.array(words, pa.string())), folder / path.name)
