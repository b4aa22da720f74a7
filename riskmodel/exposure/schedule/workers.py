"""Processes that answer one question after another, each through a pipe of its own.

No two of them share anything, so that any may end at any moment, half through an answer too: whoever waits for it
reads the end of the pipe, and the others go on.
"""

from __future__ import annotations

import os
import signal
import threading
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from multiprocessing import get_context, parent_process, resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from riskmodel.errors import LostWorkerError
from riskmodel.stopping import STOPS, stops_wait, undone_at_a_stop

# Seconds within which the system takes a killed process away (judgement).
PATIENCE_SECONDS = 2.0


class _InAnotherProcess(Exception):
    """Where an error arose that came from there."""


@dataclass(frozen=True, eq=False)
class Worker:
    """A process, our end of its pipe, and who may ask after its end: of two at once, one would be told nothing."""

    process: BaseProcess
    pipe: Connection
    asking: threading.RLock = field(default_factory=threading.RLock)

    def answer(self, function: Callable[..., Any], *words: Any) -> Any:
        """What ``function`` makes of ``words``; raises what it raises, and LostWorkerError where the process ended."""
        try:
            self.pipe.send((function, words))
            answer, fault = self.pipe.recv()
        except (EOFError, OSError):
            raise LostWorkerError(self._ending()) from None
        if fault is not None:
            raise answer from _InAnotherProcess(fault)
        return answer

    def _ending(self) -> str:
        with self.asking:
            self.process.join(PATIENCE_SECONDS)
            code = self.process.exitcode
        if code is None or code >= 0:
            return f"exit code {code}"
        try:
            return signal.Signals(-code).name
        except ValueError:
            return f"signal {-code}"


@contextmanager
def started(number: int) -> Iterator[Sequence[Worker]]:
    """So many workers; none is left after the block, nor after a signal that ends the program."""
    workers: list[Worker] = []
    with undone_at_a_stop(partial(end, workers)):
        try:
            for _ in range(number):
                _start(workers)
            yield workers
        finally:
            end(workers)


def end(workers: Sequence[Worker]) -> None:
    """Ends them at once, whatever they are at: nobody reads a half answer, and they hold nothing but their memory."""
    for each in workers:
        with each.asking:
            each.process.kill()
    for each in workers:
        with each.asking:
            each.process.join(PATIENCE_SECONDS)


def _start(workers: list[Worker]) -> None:
    # Started afresh: a copy of a process whose threads hold locks may never get on.
    context = get_context("spawn")
    with stops_wait(), _deaf_children():
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs,), daemon=True)
        try:
            process.start()
        finally:
            # Held open here, the pipe would have no end when the process does.
            theirs.close()
        workers.append(Worker(process, ours))


@contextmanager
def _deaf_children() -> Iterator[None]:
    """A process started in the block never hears a stop, which reaches all of a terminal's: the first one ends it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    # Started among the others it would let stops through again.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, STOPS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(pipe: Connection) -> None:
    """What a worker does all its life."""
    for each in STOPS:
        signal.signal(each, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    while True:
        try:
            function, words = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            pipe.send(_answer(function, words))
        except OSError:
            return
        except Exception as error:
            # An answer that cannot be put into bytes: nothing of it went out.
            pipe.send((error, traceback.format_exc()))


def _answer(function: Callable[..., Any], words: tuple[Any, ...]) -> tuple[Any, str | None]:
    """The answer and None, or an error and its traceback, which does not travel with it."""
    try:
        return function(*words), None
    except Exception as error:
        return error, traceback.format_exc()


def _end_with_parent() -> None:
    """Whoever is killed cannot end its workers: they see to it themselves."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
