"""Starts commands that a test will end, and tells what is left of them."""

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

PROCESSES = Path("/proc")
# Whoever runs the tests may have interrupts ignored, which programs inherit.
HEARING = """
import os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
os.execv(sys.argv[1], sys.argv[1:])
"""
COMMAND = Path(sys.executable).with_name("riskmodel")
PATIENCE = 60


@dataclass(frozen=True)
class Running:
    """A program whose temporary files go to ``room``, which also tells its processes from all others."""

    process: subprocess.Popen
    room: Path

    def processes(self):
        """Numbers of all processes of the program that have not ended, those of killed parents too."""
        mark = f"TMPDIR={self.room}".encode()
        return [int(each.name) for each in PROCESSES.iterdir() if each.name.isdigit() and _holds(each, mark)]

    def workers(self):
        """Numbers of those that were started to read for it, in the order of their start."""
        own = PROCESSES / str(self.process.pid) / "task"
        try:
            found = [int(word) for each in own.iterdir() for word in (each / "children").read_text().split()]
        except OSError:
            return []
        return sorted(each for each in found if _holds(PROCESSES / str(each), b"spawn_main", "cmdline"))

    def until_heard(self, number):
        """Waits until the program says itself what a signal does: before, the interpreter loads and answers for it."""
        end = time.monotonic() + PATIENCE
        while not _caught(self.process.pid) & (1 << (number - 1)):
            assert self.process.poll() is None, "ended before it heard"
            assert time.monotonic() < end
            time.sleep(0.002)

    def until_workers(self, number):
        """Waits for so many of them."""
        end = time.monotonic() + PATIENCE
        while len(found := self.workers()) < number:
            assert self.process.poll() is None, "ended before it had started them"
            assert time.monotonic() < end
            time.sleep(0.002)
        return found

    def ended(self):
        """Waits for its end; the exit status and what it said on stderr."""
        _, said = self.process.communicate(timeout=PATIENCE)
        return self.process.returncode, said

    def left(self):
        """Processes and files that are there still, once there was time to go."""
        end = time.monotonic() + 10
        while (found := (self.processes(), sorted(os.listdir(self.room)))) != ([], []):
            if time.monotonic() > end:
                break
            time.sleep(0.02)
        return found


def _caught(number):
    lines = (PROCESSES / str(number) / "status").read_text().splitlines()
    return int(next(line.split()[1] for line in lines if line.startswith("SigCgt")), 16)


def _holds(process, mark, of="environ"):
    try:
        return any(mark in word for word in (process / of).read_bytes().split(b"\0"))
    except OSError:
        return False


@pytest.fixture
def start():
    """Starts a program whose words follow, as a shell would, with a room of its own; none outlives the test."""
    all_of_them = []

    def run(room, *words, **more):
        room.mkdir(exist_ok=True)
        pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True} | more
        given = [sys.executable, "-c", HEARING, *map(str, words)]
        process = subprocess.Popen(given, env={**os.environ, "TMPDIR": str(room)}, **pipes)
        all_of_them.append(process)
        return Running(process, room)

    yield run
    for each in all_of_them:
        if each.returncode is None:
            each.kill()
            each.communicate()
