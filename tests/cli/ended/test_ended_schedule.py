"""However a command that reads a schedule by several processes is ended, no process and no folder of it is left."""

import datetime
import os
import random
import signal
import time

import pytest

from riskmodel.evaluate.synthetic_book import write_synthetic_book

from .conftest import COMMAND, PROCESSES

DAY = datetime.date(2026, 6, 1)
LOST = "ended before its time (SIGKILL), most often because memory ran out."
pytestmark = pytest.mark.skipif(
    not (PROCESSES / "self" / "environ").exists(), reason="the system does not show its processes"
)
thorough, slow = pytest.mark.thorough, pytest.mark.slow
each_stop = pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT], ids=str)
TIMES = 10


@pytest.fixture(scope="module")
def schedule(tmp_path_factory):
    folder = tmp_path_factory.mktemp("schedule")
    write_synthetic_book(folder, 40_000, 10, as_of=DAY, boats_a_group=5000)
    return folder


@pytest.fixture
def exposure(start, schedule, tmp_path):
    def run(*words):
        given = ("exposure", schedule, "--as-of", DAY, "--processes", "2", *words)
        return start(tmp_path / "room", COMMAND, *given)

    return run


def stopped(running, number, after):
    """Holds what a signal leaves after so many seconds."""
    time.sleep(after)
    began = time.monotonic()
    running.process.send_signal(number)
    assert running.ended() == (-number, "")
    assert running.left() == ([], [])
    return time.monotonic() - began


def lost(running, victims):
    """Holds what the loss of these processes comes to."""
    for each in victims:
        os.kill(each, signal.SIGKILL)
    status, said = running.ended()
    assert (status, said.count("\n")) == (1, 1)
    assert LOST in said
    assert running.left() == ([], [])


@thorough
@each_stop
def test_a_signal_while_processes_read_leaves_nothing(exposure, number):
    running = exposure()
    running.until_workers(2)
    stopped(running, number, 0.7)


@slow
@each_stop
def test_signals_at_any_moment_leave_nothing(exposure, number):
    drawn = random.Random(int(number))
    took = []
    for _ in range(TIMES):
        running = exposure()
        if number == signal.SIGINT:
            # The interpreter has its own word for an interrupt until our first line runs.
            running.until_heard(signal.SIGTERM)
        took.append(stopped(running, number, drawn.uniform(0.2, 9.0)))
    print(f"\n{number.name}: longest {max(took):.2f} s")


@slow
@each_stop
def test_signals_while_processes_start_leave_nothing(exposure, number):
    drawn = random.Random(int(number))
    for turn in range(TIMES):
        running = exposure()
        running.until_workers(1 + turn % 2)
        stopped(running, number, drawn.choice([0, drawn.uniform(0, 0.2)]))


@thorough
def test_a_signal_to_all_of_a_terminal_is_the_first_process_s_alone(exposure, start, schedule, tmp_path):
    given = ("exposure", schedule, "--as-of", DAY, "--processes", "2")
    running = start(tmp_path / "room", COMMAND, *given, start_new_session=True)
    running.until_workers(2)
    os.killpg(running.process.pid, signal.SIGHUP)
    assert running.ended() == (-signal.SIGHUP, "")
    assert running.left() == ([], [])


@thorough
def test_a_lost_process_is_one_message(exposure):
    running = exposure()
    lost(running, running.until_workers(2)[1:])


@slow
@pytest.mark.parametrize("wanted", [1, 2])
@pytest.mark.parametrize("victims", ["one", "all"])
def test_processes_lost_while_they_start_are_one_message(exposure, wanted, victims):
    for _ in range(TIMES):
        running = exposure()
        found = running.until_workers(wanted)
        lost(running, found if victims == "all" else found[-1:])


@slow
@pytest.mark.parametrize("victims", ["one", "all"])
def test_processes_lost_while_they_read_are_one_message(exposure, victims):
    drawn = random.Random(1)
    for _ in range(TIMES):
        running = exposure()
        found = running.until_workers(2)
        time.sleep(drawn.uniform(0, 1.5))
        lost(running, found if victims == "all" else found[:1])


@thorough
def test_a_killed_command_s_processes_end_and_its_folder_goes_with_the_next(exposure):
    running = exposure()
    running.until_workers(2)
    end = time.monotonic() + 60
    while not os.listdir(running.room) and time.monotonic() < end:
        time.sleep(0.01)
    running.process.kill()
    running.ended()
    processes, folders = running.left()
    assert processes == []
    assert [name.startswith("riskmodel-") for name in folders] == [True]
    again = exposure()
    again.until_workers(2)
    stopped(again, signal.SIGTERM, 0.5)
