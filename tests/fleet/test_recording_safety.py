"""Records are never lost or cut: many writers at once, writers killed anywhere, disks that fail."""

import os
import subprocess
import sys

import pytest

from riskmodel.atomic_write import atomic_write
from riskmodel.errors import TableError
from riskmodel.fleet import add_record, check_fleet, load_fleet

LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected"}
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="the system cannot copy a process")

# Twenty copies of a process that has read nothing yet: what has read has threads that a copy cannot use.
WRITERS = """
import datetime, os, sys
from riskmodel.errors import TableError
from riskmodel.fleet import Repeat, add_record


def write(name):
    for count in range(5):
        record = {"item_id": "W1", "date": "2026-05-30", "event": "inspected", "note": f"{name}-{count}"}
        while True:
            try:
                add_record(sys.argv[1], record, today=datetime.date(2026, 6, 1), repeat=Repeat.MEANT)
                break
            except TableError as error:
                if "try again" not in str(error):
                    raise


start, go = os.pipe()
children = []
for name in range(20):
    if not (child := os.fork()):
        os.close(go)
        os.read(start, 1)
        write(name)
        os._exit(0)
    children.append(child)
os.close(go)
sys.exit(max(os.waitpid(child, 0)[1] for child in children))
"""

# A child is killed at each step that the module which writes takes, then at moments that the clock chooses.
KILLER = """
import datetime, os, random, signal, sys, time
from pathlib import Path
from riskmodel.errors import TableError
from riskmodel.fleet import add_record, take_back_record
import riskmodel.atomic_write as whole

folder = Path(sys.argv[1])
name = sys.argv[2]
table = folder / name
TODAY = datetime.date(2026, 6, 1)


def add():
    add_record(folder, {"item_id": "W1", "date": "2026-05-30", "event": "inspected"}, today=TODAY)
    os._exit(0)


def killing(step):
    count = 0

    def trace(frame, event, argument):
        nonlocal count
        if frame.f_code.co_filename != whole.__file__:
            return None
        count += 1
        if count == step:
            os.kill(os.getpid(), signal.SIGKILL)
        return trace

    return trace


old, seen = table.read_bytes(), set()
expected = None
# The memory of the table is written first, by the same steps: every fifth is enough.
for step in range(1, 1000, 5):
    table.write_bytes(old)
    if not (child := os.fork()):
        sys.settrace(killing(step))
        add()
    killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
    now = table.read_bytes()
    if now != old:
        expected = expected or now
        assert now == expected, "neither the old table nor the new one"
    seen.add((killed, now == old))
    try:
        take_back_record(folder)
        assert now == expected, "took back what was not there"
        assert table.read_bytes() == old, "took back something else"
    except TableError:
        assert table.read_bytes() == now == old, "refused what was there"
    if not killed:
        break
assert seen == {(True, True), (True, False), (False, False)}, seen
assert [path.name for path in folder.glob(".*.partial")] == []

random.seed(7)
for _ in range(12):
    table.write_bytes(old)
    if not (child := os.fork()):
        add()
    time.sleep(random.uniform(0, 0.12))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    assert table.read_bytes() in (old, expected), "neither the old table nor the new one"
print("whole", step)
"""


def script(code, *arguments, **options):
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen([sys.executable, "-c", code, *map(str, arguments)], **pipes, **options)


@needs_fork
def test_twenty_writers_at_once_lose_nothing(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK | {"note": "first"}, today=today)
    old = (folder / "records.csv").read_bytes()
    with script(WRITERS, folder) as writers:
        _, faults = writers.communicate()
    assert (writers.returncode, faults) == (0, "")
    notes = load_fleet(folder, today=today).records["note"].tolist()[3:]
    assert sorted(notes) == sorted(f"{name}-{count}" for name in range(20) for count in range(5))
    assert (folder / "records.csv").read_bytes().startswith(old)
    assert check_fleet(folder, today=today) == []


# Seconds each: CI runs it with the whole commands.
@pytest.mark.thorough
@needs_fork
@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_writer_killed_at_any_moment_leaves_the_old_table_or_the_new_one(write, plain, tmp_path, kind):
    folder = write(**plain)
    if kind == "xlsx":
        folder = book_of(plain, tmp_path)
    with script(KILLER, folder, "records.csv" if kind == "csv" else "boats.xlsx") as killer:
        said, faults = killer.communicate()
    assert (said.split()[:1], killer.returncode) == (["whole"], 0), faults


def book_of(plain, tmp_path):
    import xlsxwriter

    folder = tmp_path / "book"
    folder.mkdir()
    with xlsxwriter.Workbook(str(folder / "boats.xlsx")) as book:
        for name, text in plain.items():
            sheet = book.add_worksheet(name)
            for row, line in enumerate(text.splitlines()):
                sheet.write_row(row, 0, line.split(","))
    return folder


@pytest.mark.parametrize("step", ["replace", "fsync", "chmod"])
def test_a_disk_that_fails_leaves_the_old_table_and_no_rest(write, plain, today, monkeypatch, step):
    folder = write(**plain)
    old = (folder / "records.csv").read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, full)
    with pytest.raises(OSError, match=r"No space left"):
        add_record(folder, LOOK, today=today)
    assert (folder / "records.csv").read_bytes() == old
    assert sorted(path.name for path in folder.iterdir() if path.suffix == ".partial") == []


def test_a_rest_of_a_killed_writer_goes_with_the_next(write, plain, today):
    folder = write(**plain)
    rest = folder / ".records.csv.0123456789abcdef.partial"
    rest.write_text("half a ta")
    add_record(folder, LOOK, today=today)
    assert not rest.exists()
    assert check_fleet(folder, today=today) == []


def test_the_disk_is_forced_before_the_name_changes(tmp_path, monkeypatch):
    order = []
    monkeypatch.setattr(os, "fsync", lambda handle: order.append("fsync"))
    real = os.replace
    monkeypatch.setattr(os, "replace", lambda *names: (order.append("replace"), real(*names)))
    atomic_write(tmp_path / "table.csv", b"new")
    assert order[:2] == ["fsync", "replace"]
    assert (tmp_path / "table.csv").read_bytes() == b"new"


def test_a_table_that_changed_meanwhile_is_not_written_over(write, plain, today, monkeypatch):
    folder = write(**plain)
    theirs = "item_id,vessel_id,date,event,hours\n"

    def read_and_interrupted(draft, settings):
        (folder / "records.csv").write_text(theirs)
        return read(draft, settings)

    from riskmodel.fleet import recording

    read = recording.read_draft
    monkeypatch.setattr(recording, "read_draft", read_and_interrupted)
    with pytest.raises(TableError, match=r"records.csv: must not change while a record is added: try again"):
        add_record(folder, LOOK, today=today)
    assert (folder / "records.csv").read_text() == theirs


def test_a_draft_that_reads_otherwise_than_meant_is_not_written(write, plain, today, monkeypatch):
    folder = write(**plain)
    from riskmodel.fleet import drafts

    real = drafts.csv_with_row
    monkeypatch.setattr(
        drafts, "csv_with_row", lambda content, *rest: real(content.replace(b"120", b"121"), *rest)
    )
    with pytest.raises(
        TableError, match=r"must read as the old rows and the new one, so nothing was written"
    ):
        add_record(folder, LOOK, today=today)
    assert b",120\n" in (folder / "records.csv").read_bytes()
