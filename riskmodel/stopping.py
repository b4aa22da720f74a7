"""What a signal that ends the program has undone first: files, folders and processes that are half done with.

A signal ends the program where it stands, by no exception: one that is raised anywhere may be swallowed anywhere, or
may break off the very block that cleans up.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType

# Signals that ask a program to end; Windows has two of them.
STOPS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
# Seconds after which a cleaning that has not come to its end is given up (judgement).
PATIENCE_SECONDS = 5
# What a shell calls the exit status of a program that a signal ended, less the signal's number.
BY_SIGNAL = 128

_undos: dict[object, Callable[[], object]] = {}
_waits: list[None] = []
_came: list[int] = []


@contextmanager
def undone_at_a_stop(undo: Callable[[], object]) -> Iterator[None]:
    """While the block runs, a stop calls ``undo``, which must bear being called at any moment, and twice."""
    key = object()
    _undos[key] = undo
    try:
        yield
    finally:
        _undos.pop(key, None)


@contextmanager
def stops_wait() -> Iterator[None]:
    """A stop that comes while the block runs comes after it: for what must be done and noted in one."""
    _waits.append(None)
    try:
        yield
    finally:
        _waits.pop()
        if _came and not _waits:
            stop(_came[0])


def stop(number: int, _: FrameType | None = None) -> None:
    """Handles signal ``number``: undoes what is half done and ends the program as the signal by itself would have."""
    if _waits:
        _came.append(number)
        return
    for each in STOPS:
        # Asked twice, it still cleans up once.
        signal.signal(each, signal.SIG_IGN)
    if hasattr(signal, "alarm"):
        signal.alarm(PATIENCE_SECONDS)
    undo_all()
    signal.signal(number, signal.SIG_DFL)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {number})
    signal.raise_signal(number)
    os._exit(BY_SIGNAL + number)


def undo_all() -> None:
    """Undoes what is half done, the latest first, and all of it twice: a process may write while it is being ended."""
    for undo in [*reversed(_undos.values())] * 2:
        with suppress(Exception):
            undo()
