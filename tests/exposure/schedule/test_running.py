"""Stretches read by several processes give the same answer, the same refusals, and leave nothing behind."""

import multiprocessing
import os
from dataclasses import replace

import pytest

from riskmodel.errors import Problem, TableError
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.running import by_processes, one_after_another


@pytest.fixture(scope="module")
def run():
    with by_processes(2) as runner:
        yield runner


def refused(row):
    raise TableError([Problem("items.parquet", row, "quantity", "must be a number", "many")])


def test_processes_count_to_the_last_bit_what_one_counts(run, book, write_tables, opened, agree):
    schedule = opened(write_tables(*book(400), group=[150, 700]))
    told = []
    found = read_schedule(schedule, run, lambda *words: told.append(words))
    agree(found, read_schedule(schedule, one_after_another, lambda *_: None))
    assert told[-1] == ("parts", 1600, 1600)
    assert told[0] == ("boats", 150, 400)


def test_a_refusal_of_another_process_comes_out_as_itself(run, book, write_tables, opened):
    vessels, items = book(40)
    file = write_tables(vessels, items, group=30) / "items.parquet"
    whole = file.read_bytes()
    schedule = opened(file.parent)
    with pytest.raises(
        TableError, match=r"^items\.parquet row 3: quantity must be a number, got many$"
    ) as caught:
        list(run(refused, (), [3]))
    assert caught.value.problems == (Problem("items.parquet", 3, "quantity", "must be a number", "many"),)
    # Its foot is whole, its pages are not.
    file.write_bytes(whole[:4] + b"\xff" * (len(whole) // 2) + whole[4 + len(whole) // 2 :])
    with pytest.raises(TableError, match=r"items\.parquet: must be a Parquet file"):
        read_schedule(schedule, run, lambda *_: None)


def test_an_interrupt_ends_every_process_and_leaves_no_file(book, write_tables, opened, tmp_path):
    schedule = replace(opened(write_tables(*book(60), group=10)), work_folder=tmp_path)
    before = {child.pid for child in multiprocessing.active_children()}

    def stop(what, done, of):
        if what == "parts":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), by_processes(2) as runner:
        read_schedule(schedule, runner, stop)
    assert {child.pid for child in multiprocessing.active_children()} == before
    assert list(tmp_path.iterdir()) == []


def test_one_process_is_this_one():
    with by_processes(1) as runner:
        assert list(runner(lambda each: (os.getpid(), each), (), [1, 2])) == [
            (os.getpid(), 1),
            (os.getpid(), 2),
        ]
