"""Runs one function over many stretches of a schedule, here by a few processes, elsewhere by whoever is handed in."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from queue import SimpleQueue
from typing import Any, Protocol

from riskmodel.errors import LostWorkerError
from riskmodel.exposure.schedule.workers import Worker, end, started

# More than this many processes wait for the disk and for memory.
MOST_PROCESSES = 8


class Runner(Protocol):
    """Something that calls ``function(*given, each)`` for each stretch and yields the answers in their order."""

    def __call__(
        self, function: Callable[..., Any], given: tuple[Any, ...], stretches: Sequence[Any]
    ) -> Iterator[Any]:
        """The answers, in order."""
        ...


def one_after_another(
    function: Callable[..., Any], given: tuple[Any, ...], stretches: Sequence[Any]
) -> Iterator[Any]:
    """The runner that stays in this process."""
    for each in stretches:
        yield function(*given, each)


@contextmanager
def by_processes(number: int | None = None) -> Iterator[Runner]:
    """A runner with as many processes as there are processors; they end with it, however it ends.

    The runner raises LostWorkerError where a process was ended by somebody else, such as a system out of memory.
    """
    wanted = number or min(_processors(), MOST_PROCESSES)
    if wanted == 1:
        yield one_after_another
        return
    # A thread for each process waits for its answers, so that the next question is there when an answer goes out.
    with started(wanted) as workers, _threads(workers) as threads:
        yield partial(_mapped, threads, _Team(workers))


class _Team:
    """Workers, and which of them are ``idle``."""

    def __init__(self, workers: Sequence[Worker]) -> None:
        self.workers = workers
        self.idle: SimpleQueue[Worker] = SimpleQueue()
        for each in workers:
            self.idle.put(each)

    def answer(self, function: Callable[..., Any], each: Any) -> Any:
        """The answer of whoever is idle; where one is lost all end, so that nobody waits for what is in vain."""
        worker = self.idle.get()
        try:
            return worker.answer(function, each)
        except LostWorkerError:
            end(self.workers)
            raise
        finally:
            self.idle.put(worker)


@contextmanager
def _threads(workers: Sequence[Worker]) -> Iterator[ThreadPoolExecutor]:
    """A thread for each worker; none is left after the block, nor is any worker."""
    pool = ThreadPoolExecutor(len(workers))
    try:
        yield pool
    finally:
        # A thread that waits for an answer reads the end of its worker's pipe.
        end(workers)
        pool.shutdown(wait=True, cancel_futures=True)
        for each in workers:
            each.pipe.close()


def _processors() -> int:
    """Those this process may use, where the system tells; else all there are."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _mapped(
    threads: ThreadPoolExecutor,
    team: _Team,
    function: Callable[..., Any],
    given: tuple[Any, ...],
    stretches: Sequence[Any],
) -> Iterator[Any]:
    return threads.map(partial(team.answer, partial(function, *given)), stretches)
