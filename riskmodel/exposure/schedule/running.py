"""Runs one function over many stretches of a schedule, here by a few processes, elsewhere by whoever is handed in."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from multiprocessing import get_context
from typing import Any, Protocol

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
    """A runner with as many processes as there are processors; they end with it, an interrupt included."""
    wanted = number or min(_processors(), MOST_PROCESSES)
    if wanted == 1:
        yield one_after_another
        return
    # Started afresh: a copy of a process whose threads hold locks may never get on.
    pool = ProcessPoolExecutor(wanted, mp_context=get_context("spawn"), initializer=_leave_interrupts)
    try:
        yield partial(_mapped, pool)
    finally:
        # What is being read is read to its end, a second or two: a process ended while it hands over an answer would
        # leave half of one, which the pool waits for the rest of for ever.
        pool.shutdown(wait=True, cancel_futures=True)


def _processors() -> int:
    """Those this process may use, where the system tells; else all there are."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _leave_interrupts() -> None:
    """An interrupt from the keyboard reaches every process: the first one has the others end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _mapped(
    pool: ProcessPoolExecutor, function: Callable[..., Any], given: tuple[Any, ...], stretches: Sequence[Any]
) -> Iterator[Any]:
    return pool.map(partial(function, *given), stretches)
