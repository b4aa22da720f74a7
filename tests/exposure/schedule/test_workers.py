"""A process that is lost, at whatever moment, is one refusal, and none is left: never a wait without end."""

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from riskmodel.errors import LostWorkerError
from riskmodel.exposure.schedule import workers as module
from riskmodel.exposure.schedule.running import by_processes
from riskmodel.exposure.schedule.workers import started

posix = pytest.mark.skipif(os.name != "posix", reason="the system has no such signals")

# Says which processes it has, and is killed while they work.
PARENT = """
import sys, time
from riskmodel.exposure.schedule.workers import started

if __name__ == "__main__":
    with started(2) as workers:
        workers[0].answer(abs, -1)
        workers[1].answer(abs, -1)
        for each in workers:
            each.pipe.send((time.sleep, (60,)))
        print(*(each.process.pid for each in workers), flush=True)
        time.sleep(60)
"""


def killed(_):
    os.kill(os.getpid(), signal.SIGKILL)


def gone(_):
    os._exit(3)


def killed_half_through(_):
    """Hands over the first half of a large answer."""

    def half(pipe, buffer, *_):
        os.write(pipe.fileno(), bytes(buffer[: len(buffer) // 2]))
        killed(_)

    Connection._send = half
    return b"x" * 3_000_000


def unsendable(_):
    return lambda: None


def slept(seconds):
    time.sleep(seconds)
    return os.getpid()


def running(number):
    """Whether a process is at work; one that ended and nobody has asked about yet is not."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.fixture(autouse=True)
def nothing_left():
    before = {child.pid for child in multiprocessing.active_children()}
    yield
    assert {child.pid for child in multiprocessing.active_children()} == before


@posix
@pytest.mark.parametrize(
    ("function", "how"),
    [
        pytest.param(killed, "SIGKILL", marks=pytest.mark.thorough),
        pytest.param(gone, "exit code 3", marks=pytest.mark.thorough),
        (killed_half_through, "SIGKILL"),
    ],
    ids=lambda each: getattr(each, "__name__", ""),
)
def test_a_lost_process_says_how_it_ended_and_what_to_do(function, how):
    with (
        pytest.raises(LostWorkerError, match=rf"\({how}\).*memory.*--processes 1"),
        started(1) as (worker,),
    ):
        worker.answer(function, 0)


@posix
def test_one_lost_ends_the_others_at_once():
    with pytest.raises(LostWorkerError, match="ended before its time"), by_processes(2) as run:
        # What comes first takes longest: its answer is in vain.
        list(run(_slept_or_killed, (), [600, 0, 600]))


def _slept_or_killed(seconds):
    return slept(seconds) if seconds else killed(seconds)


@posix
def test_one_killed_before_it_was_asked_is_lost_too():
    with started(1) as (worker,):
        worker.process.kill()
        with pytest.raises(LostWorkerError, match="SIGKILL"):
            worker.answer(slept, 0)
        with pytest.raises(LostWorkerError, match="SIGKILL"):
            worker.answer(slept, 0)


@pytest.mark.thorough
@posix
def test_one_killed_after_its_last_answer_is_not_missed():
    with by_processes(2) as run:
        (answer,) = run(slept, (), [0])
        os.kill(answer, signal.SIGKILL)


@pytest.mark.thorough
def test_an_answer_that_cannot_be_sent_is_an_error_and_the_process_goes_on():
    with started(1) as (worker,):
        with pytest.raises((AttributeError, TypeError), match="lambda"):
            worker.answer(unsendable, 0)
        assert worker.answer(slept, 0) == worker.process.pid


def test_a_process_that_cannot_be_started_takes_the_others_with_it(monkeypatch):
    whole, turns = module._start, []

    def second_fails(team):
        turns.append(team)
        if len(turns) == 2:
            raise OSError(12, "Cannot allocate memory")
        whole(team)

    monkeypatch.setattr(module, "_start", second_fails)
    with pytest.raises(OSError, match="Cannot allocate memory"), started(2):
        pass


@pytest.mark.thorough
@posix
def test_answers_come_in_the_order_of_the_questions_and_others_go_on_meanwhile():
    with by_processes(2) as run:
        found = list(run(slept, (), [0.5, 0, 0, 0]))
    assert found[1:] == [found[1]] * 3
    assert found[0] != found[1]


@pytest.mark.thorough
@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="the system has no signals to be deaf to")
def test_stops_are_left_to_the_first_process():
    with started(1) as (worker,):
        # From its first moment on.
        for each in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
            os.kill(worker.process.pid, each)
        assert worker.answer(slept, 0) == worker.process.pid
        assert signal.pthread_sigmask(signal.SIG_BLOCK, ()) == set()


@pytest.mark.thorough
@pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="the system does not show its processes")
def test_processes_whose_first_one_was_killed_end_by_themselves():
    parent = subprocess.Popen([sys.executable, "-c", PARENT], stdout=subprocess.PIPE, text=True)
    theirs = [int(word) for word in parent.stdout.readline().split()]
    assert len(theirs) == 2
    parent.kill()
    parent.communicate(timeout=60)
    deadline = time.monotonic() + 30
    while any(running(each) for each in theirs) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not any(running(each) for each in theirs)
