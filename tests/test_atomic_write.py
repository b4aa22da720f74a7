"""A file is the old one or the new one, and what a killed writer left goes with the next."""

import errno
import os
import signal
import stat
import subprocess
import sys
import time

import pytest

from riskmodel import atomic_write as module
from riskmodel.atomic_write import atomic_file, atomic_write

needs_locks = pytest.mark.skipif(
    module.fcntl is None, reason="the system has no locks that end with their holder"
)

HOLDER = """
import sys, time
from riskmodel.atomic_write import atomic_file
with atomic_file(sys.argv[1]) as file:
    file.write(b"half")
    file.flush()
    print("writing", flush=True)
    time.sleep(60)
"""


def partials(folder):
    return sorted(path.name for path in folder.iterdir() if path.name.endswith(".partial"))


def holder(path):
    process = subprocess.Popen([sys.executable, "-c", HOLDER, str(path)], stdout=subprocess.PIPE, text=True)
    assert process.stdout.readline() == "writing\n"
    return process


def test_the_new_content_takes_the_place_of_the_old(tmp_path):
    atomic_write(tmp_path / "a.csv", b"old")
    atomic_write(tmp_path / "a.csv", b"new")
    assert (tmp_path / "a.csv").read_bytes() == b"new"
    assert partials(tmp_path) == []


def test_an_error_inside_leaves_the_old_file(tmp_path):
    atomic_write(tmp_path / "a.csv", b"old")

    def change_its_mind():
        with atomic_file(tmp_path / "a.csv") as file:
            file.write(b"half")
            raise ValueError("changed its mind")

    with pytest.raises(ValueError, match="mind"):
        change_its_mind()
    assert (tmp_path / "a.csv").read_bytes() == b"old"
    assert partials(tmp_path) == []


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file_and_names_it(tmp_path, monkeypatch, step):
    atomic_write(tmp_path / "a.csv", b"old")

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, step, full)
    with pytest.raises(OSError, match=r"No space left on device: .*a\.csv"):
        atomic_write(tmp_path / "a.csv", b"new")
    monkeypatch.undo()
    assert (tmp_path / "a.csv").read_bytes() == b"old"
    assert partials(tmp_path) == []


@needs_locks
def test_what_a_killed_writer_left_goes_with_the_next(tmp_path):
    process = holder(tmp_path / "a.csv")
    process.send_signal(signal.SIGKILL)
    process.communicate()
    assert len(partials(tmp_path)) == 1
    atomic_write(tmp_path / "other.csv", b"1")
    assert len(partials(tmp_path)) == 1
    atomic_write(tmp_path / "a.csv", b"1")
    assert partials(tmp_path) == []


@needs_locks
def test_the_file_of_a_writer_at_work_stays(tmp_path):
    process = holder(tmp_path / "a.csv")
    try:
        atomic_write(tmp_path / "a.csv", b"1")
        assert len(partials(tmp_path)) == 1
    finally:
        process.kill()
        process.communicate()


def test_no_name_can_be_laid_in_wait(tmp_path, monkeypatch):
    victim = tmp_path / "victim"
    victim.write_text("mine")
    names = iter(["0" * 16, "1" * 16])
    monkeypatch.setattr(module.secrets, "token_hex", lambda _: next(names))
    (tmp_path / f".a.csv.{'0' * 16}.partial").symlink_to(victim)
    with pytest.raises(FileExistsError):
        atomic_write(tmp_path / "a.csv", b"1")
    assert victim.read_text() == "mine"


def test_permissions_and_links_stay(tmp_path):
    (tmp_path / "real.csv").write_bytes(b"old")
    (tmp_path / "real.csv").chmod(0o640)
    (tmp_path / "link.csv").symlink_to("real.csv")
    atomic_write(tmp_path / "link.csv", b"new")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_bytes() == b"new"
    assert stat.S_IMODE((tmp_path / "real.csv").stat().st_mode) == 0o640


def test_a_long_name_is_written(tmp_path):
    name = "ä" * 120 + ".csv"
    atomic_write(tmp_path / name, b"1")
    assert (tmp_path / name).read_bytes() == b"1"


@pytest.mark.skipif(not os.path.exists("/dev/null"), reason="the system has no such device")
def test_a_device_stays_a_device():
    atomic_write("/dev/null", b"1")
    assert stat.S_ISCHR(os.stat("/dev/null").st_mode)


def test_many_writers_of_one_file_leave_one_whole(tmp_path):
    code = """if True:
        import sys
        from riskmodel.atomic_write import atomic_write
        for _ in range(30):
            atomic_write(sys.argv[1], sys.argv[2].encode() * 5000)
    """
    given = [sys.executable, "-c", code, str(tmp_path / "a.csv")]
    writers = [subprocess.Popen([*given, mark]) for mark in "abc"]
    deadline = time.monotonic() + 60
    assert [writer.wait(timeout=max(deadline - time.monotonic(), 1)) for writer in writers] == [0, 0, 0]
    assert (tmp_path / "a.csv").read_bytes() in {mark.encode() * 5000 for mark in "abc"}
    assert partials(tmp_path) == []
