"""A work folder goes with its program, and what a killed one left goes with the next; what is in use stays."""

import os
import signal
import subprocess
import sys

import pytest

from riskmodel import work_folder as module
from riskmodel.work_folder import HELD, remove_stale_folders, work_folder

needs_locks = pytest.mark.skipif(
    module.fcntl is None, reason="the system has no locks that end with their holder"
)
HOLDER = """
import signal, sys, time
from pathlib import Path
from riskmodel.stopping import STOPS, stop
from riskmodel.work_folder import work_folder
for each in STOPS:
    signal.signal(each, stop)
with work_folder(Path(sys.argv[1])) as folder:
    (folder / "a").write_text("half")
    (folder / "sub").mkdir()
    (folder / "sub" / "b").write_text("half")
    print("working", flush=True)
    time.sleep(60)
"""
MADE = "riskmodel-0123456789abcdef.work"


def holder(place):
    process = subprocess.Popen([sys.executable, "-c", HOLDER, str(place)], stdout=subprocess.PIPE, text=True)
    assert process.stdout.readline() == "working\n"
    return process


def end(process, number):
    process.send_signal(number)
    process.communicate(timeout=60)
    return process.returncode


def test_it_is_ours_alone_and_gone_after_the_block(tmp_path):
    with work_folder(tmp_path) as folder:
        (folder / "a").write_text("1")
        (folder / "sub").mkdir()
        assert folder.parent == tmp_path
        if os.name == "posix":
            assert folder.stat().st_mode & 0o077 == 0
    assert list(tmp_path.iterdir()) == []


def test_it_is_gone_after_an_error_too(tmp_path):
    with pytest.raises(ValueError, match="mind"), work_folder(tmp_path):
        raise ValueError("changed its mind")
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(FileNotFoundError, match="nowhere"), work_folder(tmp_path / "nowhere"):
        pass


@pytest.mark.skipif(os.name != "posix", reason="the system has no such signals")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_leaves_no_folder(tmp_path, number):
    assert end(holder(tmp_path), number) == -number
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="the system has no such signals")
def test_a_signal_while_the_place_is_tried_leaves_no_file(tmp_path):
    code = """if True:
        import os, signal
        from riskmodel.stopping import stop
        from riskmodel.work_folder import work_folder
        signal.signal(signal.SIGTERM, stop)
        whole = os.unlink
        def unlink(*words, **more):
            signal.raise_signal(signal.SIGTERM)
            whole(*words, **more)
        os.unlink = unlink
        with work_folder():
            print("went on")
    """
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "TMPDIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (-signal.SIGTERM, "", "")
    assert list(tmp_path.iterdir()) == []


@needs_locks
def test_what_a_killed_program_left_goes_with_the_next(tmp_path):
    end(holder(tmp_path), signal.SIGKILL)
    (left,) = tmp_path.iterdir()
    assert left.name.startswith("riskmodel-")
    with work_folder(tmp_path) as folder:
        assert list(tmp_path.iterdir()) == [folder]
    assert list(tmp_path.iterdir()) == []


@needs_locks
def test_folders_in_use_stay(tmp_path):
    process = holder(tmp_path)
    try:
        (theirs,) = tmp_path.iterdir()
        with work_folder(tmp_path) as one, work_folder(tmp_path) as other:
            assert {*tmp_path.iterdir()} == {theirs, one, other}
        assert (theirs / "sub" / "b").read_text() == "half"
    finally:
        end(process, signal.SIGKILL)


def test_what_is_not_ours_stays(tmp_path):
    (tmp_path / "riskmodel-results").mkdir()
    (tmp_path / MADE).mkdir()
    (tmp_path / MADE / "letter").write_text("not held, not empty")
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / HELD).write_text("")
    before = sorted(tmp_path.rglob("*"))
    remove_stale_folders(tmp_path)
    assert sorted(tmp_path.rglob("*")) == before


@needs_locks
def test_a_link_is_not_followed(tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / HELD).write_text("")
    (tmp_path / "mine" / "letter").write_text("dear")
    (tmp_path / "place").mkdir()
    (tmp_path / "place" / MADE).symlink_to(tmp_path / "mine")
    remove_stale_folders(tmp_path / "place")
    assert (tmp_path / "mine" / "letter").read_text() == "dear"


@needs_locks
def test_an_empty_one_that_another_removed_before_it_was_held_is_made_anew(tmp_path, monkeypatch):
    whole, turns = os.open, []

    def late(path, *words, **more):
        if str(path).endswith(HELD) and not turns:
            turns.append(path)
            remove_stale_folders(tmp_path)
        return whole(path, *words, **more)

    monkeypatch.setattr(os, "open", late)
    with work_folder(tmp_path) as folder:
        assert turns
        assert (folder / HELD).exists()
