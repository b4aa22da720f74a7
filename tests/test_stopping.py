"""A signal that ends a program has what is half done undone first, and then ends it as it always would."""

import os
import signal
import subprocess
import sys
import threading

import pytest

from riskmodel import stopping
from riskmodel.stopping import STOPS, stops_wait, undo_all, undone_at_a_stop

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the system has no such signals")
each_stop = pytest.mark.parametrize("number", STOPS, ids=lambda each: each.name)

PROGRAM = """
import os, signal, sys, time
from pathlib import Path
from riskmodel.stopping import stop, stops_wait, undone_at_a_stop

number, folder = int(sys.argv[1]), Path(sys.argv[2])
signal.signal(number, stop)


def says(name):
    def undo():
        with (folder / "undone").open("a") as file:
            file.write(name)
    return undo
"""


@pytest.fixture
def ended(tmp_path):
    """Runs the program with this at its end; its exit status, what it undid, and what it said."""

    def run(number, code):
        given = [sys.executable, "-c", PROGRAM + code, str(int(number)), str(tmp_path)]
        done = subprocess.run(given, capture_output=True, text=True, timeout=60, check=False)
        undone = tmp_path / "undone"
        return done.returncode, undone.read_text() if undone.exists() else "", done.stderr + done.stdout

    return run


@each_stop
def test_it_undoes_the_latest_first_and_twice_and_dies_of_the_signal(ended, number):
    code = """
with undone_at_a_stop(says("a")), undone_at_a_stop(says("b")):
    with undone_at_a_stop(says("over")):
        pass
    signal.raise_signal(number)
    print("went on")
"""
    assert ended(number, code) == (-number, "baba", "")


def test_what_fails_to_be_undone_keeps_nothing_else_from_it(ended):
    code = """
with undone_at_a_stop(says("a")), undone_at_a_stop(lambda: 1 / 0):
    signal.raise_signal(number)
"""
    assert ended(signal.SIGTERM, code) == (-signal.SIGTERM, "aa", "")


def test_a_stop_where_no_exception_would_come_out_ends_the_program_all_the_same(ended):
    code = """
class Thing:
    def __del__(self):
        signal.raise_signal(number)

with undone_at_a_stop(says("a")):
    thing = Thing()
    del thing
    print("went on")
"""
    assert ended(signal.SIGTERM, code) == (-signal.SIGTERM, "aa", "")


def test_a_stop_waits_for_what_must_be_done_in_one(ended):
    code = """
with stops_wait():
    with stops_wait():
        signal.raise_signal(number)
    says("made")()
print("went on")
"""
    assert ended(signal.SIGHUP, code) == (-signal.SIGHUP, "made", "")


def test_asked_twice_it_cleans_up_once(ended):
    code = """
def slow():
    signal.raise_signal(number)
    says("a")()

with undone_at_a_stop(slow):
    signal.raise_signal(number)
"""
    assert ended(signal.SIGTERM, code) == (-signal.SIGTERM, "aa", "")


def test_a_cleaning_without_end_is_given_up(ended):
    code = """
import riskmodel.stopping
riskmodel.stopping.PATIENCE_SECONDS = 1
with undone_at_a_stop(lambda: time.sleep(60)):
    signal.raise_signal(number)
"""
    assert ended(signal.SIGTERM, code) == (-signal.SIGALRM, "", "")


def test_nothing_is_undone_that_is_done_with():
    calls = []
    with undone_at_a_stop(lambda: calls.append("a")):
        pass
    undo_all()
    assert calls == []


def test_waiting_without_a_stop_changes_nothing():
    with stops_wait():
        pass
    assert (stopping._waits, stopping._came) == ([], [])


def test_commands_give_signals_back_as_they_were():
    from riskmodel.cli.signals import cleaning_up

    before = [signal.getsignal(each) for each in STOPS]
    with cleaning_up():
        within = [signal.getsignal(each) for each in STOPS]
    assert [signal.getsignal(each) for each in STOPS] == before
    assert all(
        handler is (old if old is signal.SIG_IGN else stopping.stop)
        for handler, old in zip(within, before, strict=True)
    )


def test_what_is_ignored_stays_ignored():
    from riskmodel.cli.signals import cleaning_up

    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with cleaning_up():
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)


def test_another_thread_runs_commands_too():
    from riskmodel.cli.signals import cleaning_up, quiet_interrupts

    ran = []

    def work():
        with quiet_interrupts(), cleaning_up():
            ran.append(signal.getsignal(signal.SIGTERM))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert ran == [signal.getsignal(signal.SIGTERM)]


def test_an_interrupt_while_a_command_loads_is_quiet(ended):
    code = """
from riskmodel.cli.signals import quiet_interrupts
signal.signal(number, signal.default_int_handler)
with quiet_interrupts():
    signal.raise_signal(number)
"""
    assert ended(signal.SIGINT, code) == (-signal.SIGINT, "", "")
