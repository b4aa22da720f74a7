"""However a command that writes is ended, each file it names is the old one or the new one in full."""

import random
import shutil
import signal
import statistics
import sys
import time
from dataclasses import dataclass

import pytest

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="the system has no such signals")
# Says when a command opens the file that will take the place of the one it was asked for; the rest is the command's.
TELLING = """
import sys
import riskmodel.atomic_write as module
from importlib.metadata import entry_points

whole = module._opened
def telling(partial):
    print("writing", flush=True)
    return whole(partial)
module._opened = telling
sys.argv[0] = "riskmodel"
entry_points(group="console_scripts", name="riskmodel")["riskmodel"].load()()
"""
# Writes two contents in turn, without end.
LOOP = """
import sys
from riskmodel.atomic_write import atomic_write
from riskmodel.cli.signals import cleaning_up
one, other = b"1" * int(sys.argv[2]), b"2" * int(sys.argv[2])
with cleaning_up():
    print("writing", flush=True)
    while True:
        atomic_write(sys.argv[1], one)
        atomic_write(sys.argv[1], other)
"""
# Words of a command, and the files it writes; FLEET and FOLDER stand for folders.
OPTIONS = {
    "table": (("rank", "FLEET", "--out", "FOLDER/a.txt", "--force"), ("a.txt",)),
    "csv": (("rank", "FLEET", "--format", "csv", "--out", "FOLDER/a.csv", "--force"), ("a.csv",)),
    "json": (("exposure", "FLEET", "--format", "json", "--out", "FOLDER/a.json", "--force"), ("a.json",)),
    "xlsx": (("budget", "FLEET", "--amount", "900", "--out", "FOLDER/a.xlsx", "--force"), ("a.xlsx",)),
    "save": (("lives", "FLEET", "--save", "FOLDER/a.json", "--force"), ("a.json",)),
    "figure": (("lives", "FLEET", "--figure", "FOLDER/a.png", "--force"), ("a.png",)),
    "calendar": (("season", "FLEET", "B1", "--calendar", "FOLDER/a.ics", "--force"), ("a.ics",)),
    "bad rows": (("check", "BAD", "--bad-rows", "FOLDER/a.csv", "--force"), ("a.csv",)),
    "record": (
        ("record", "FOLDER", "--item", "I0", "--date", "2026-05-30", "--event", "inspected"),
        ("records.csv",),
    ),
    "begin": (
        ("begin", "FOLDER", "--propulsion", "sterndrive", "--length-m", "8", "--built", "2000", "--force"),
        ("walk-round.html", "fleet.xlsx"),
    ),
}
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGHUP)
DONE = (0, 3, 5)


@dataclass(frozen=True)
class Writing:
    """A command that writes ``names`` in ``folder``, its program, and what these files hold before and after."""

    words: tuple
    folder: object
    names: tuple
    old: dict
    new: dict


@pytest.fixture
def writing(small, bad, tmp_path, start):
    """The same for one of OPTIONS, once run to its end to know what it writes; and how long it writes [s]."""

    def make(option):
        words, names = OPTIONS[option]
        folder = tmp_path / "folder"
        if option == "record":
            shutil.copytree(small, folder)
        else:
            folder.mkdir()
            for name in names:
                (folder / name).write_bytes(b"old\n")
        places = {"FLEET": str(small), "BAD": str(bad), "FOLDER": str(folder)}
        words = tuple(_placed(word, places) for word in words)
        old = _held(folder, names)
        running = start(tmp_path / "room", *_telling(words))
        assert running.process.stdout.readline() == "writing\n"
        began = time.monotonic()
        status, said = running.ended()
        assert status in DONE, said
        made = Writing(words, folder, names, old, _held(folder, names))
        assert made.old != made.new
        return made, time.monotonic() - began

    return make


def _telling(words):

    return (sys.executable, "-c", TELLING, *words)


def _placed(word, places):
    for name, place in places.items():
        word = word.replace(name, place)
    return word


def _held(folder, names):
    return {name: (folder / name).read_bytes() if (folder / name).exists() else None for name in names}


def _rests(folder):
    return {path.name for path in folder.iterdir() if path.name.endswith(".partial")}


def ended_once(made, running, number):
    """Sends the signal; holds that files are whole. What was there besides, and whether the new file was."""
    before = _rests(made.folder)
    running.process.send_signal(number)
    status, said = running.ended()
    assert status == -number or status in DONE, said
    assert "Traceback" not in said
    now = _held(made.folder, made.names)
    for name in made.names:
        assert now[name] in (made.old[name], made.new[name]), f"neither the old {name} nor the new one"
    assert len(_rests(made.folder) - before) <= (number == signal.SIGKILL)
    assert number == signal.SIGKILL or running.left() == ([], [])
    return status, now == made.new


def again(made):
    for name, content in made.old.items():
        if content is None:
            (made.folder / name).unlink(missing_ok=True)
        else:
            (made.folder / name).write_bytes(content)


def held(made, spent, start, room, turns):
    """Ends the command so many times, most while it writes; then the next leaves only the new file."""
    drawn, found = random.Random(turns), []
    for turn in range(turns):
        again(made)
        running = start(room, *_telling(made.words))
        if turn % 5 < 4:
            line = running.process.stdout.readline()
            assert line == "writing\n", (turn, found[-1:], running.ended())
            time.sleep(drawn.uniform(0, min(spent, 0.05)))
        else:
            time.sleep(drawn.uniform(0, 2.0))
        found.append(ended_once(made, running, SIGNALS[turn % len(SIGNALS)]))
    again(made)
    status, said = start(room, *_telling(made.words)).ended()
    assert status in DONE, said
    assert _held(made.folder, made.names) == made.new
    assert _rests(made.folder) == set()
    return found


@pytest.mark.thorough
@pytest.mark.parametrize("option", ["csv", "xlsx", "record", "begin"])
def test_a_file_is_the_old_or_the_new_whoever_ends_the_command(option, writing, start, tmp_path):
    made, spent = writing(option)
    held(made, spent, start, tmp_path / "room", 2)


@pytest.mark.slow
@pytest.mark.parametrize("option", OPTIONS)
def test_files_are_whole_after_many_ends(option, writing, start, tmp_path):
    made, spent = writing(option)
    found = held(made, spent, start, tmp_path / "room", 30)
    news = sum(new for _, new in found)
    print(f"\n{option}: written in {spent:.3f} s; {len(found)} ends, {news} with the new file")


def loop(start, room, folder, size, ends):
    """Ends a program that writes without end, after moments spread over many of its writings."""
    target, drawn, seen = folder / "a.csv", random.Random(size), []
    rests = set()
    for turn in range(ends):
        number = SIGNALS[turn % len(SIGNALS)]
        running = start(room, *_looping(target, size))
        assert running.process.stdout.readline() == "writing\n"
        time.sleep(drawn.uniform(0, 0.05))
        running.process.send_signal(number)
        assert running.ended() == (-number, "")
        before, rests = rests, _rests(folder)
        assert len(rests - before) <= (number == signal.SIGKILL)
        assert len(rests) <= 1
        content = target.read_bytes() if target.exists() else b""
        assert content in (b"", b"1" * size, b"2" * size)
        seen.append(len(rests))
    return seen


def _looping(target, size):
    return (sys.executable, "-c", LOOP, target, size)


@pytest.mark.thorough
def test_a_program_that_writes_without_end_leaves_whole_files(start, tmp_path):
    (tmp_path / "folder").mkdir()
    loop(start, tmp_path / "room", tmp_path / "folder", 300_000, 9)


@pytest.mark.slow
@pytest.mark.parametrize("size", [2_000, 300_000, 8_000_000])
def test_two_hundred_ends_leave_whole_files(start, tmp_path, size):
    (tmp_path / "folder").mkdir()
    seen = loop(start, tmp_path / "room", tmp_path / "folder", size, 200)
    print(f"\n{size} bytes: a rest after {statistics.mean(seen[:: len(SIGNALS)]):.0%} of SIGKILLs")
