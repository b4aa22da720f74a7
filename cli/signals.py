"""The one place where commands say what a signal that ends them does."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from riskmodel.stopping import STOPS, stop


@contextmanager
def cleaning_up() -> Iterator[None]:
    """While the block runs, SIGINT, SIGTERM and SIGHUP leave nothing behind and end the program as they always do.

    A signal that whoever started the program has it ignore (nohup) stays ignored. Only the main thread may say what
    signals do; in another one nothing changes.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    heard = [each for each in STOPS if signal.getsignal(each) not in (signal.SIG_IGN, None)]
    old = {each: signal.signal(each, stop) for each in heard}
    try:
        yield
    finally:
        for each, handler in old.items():
            signal.signal(each, handler)


@contextmanager
def quiet_interrupts() -> Iterator[None]:
    """While the block runs, an interrupt ends the program without a word: for the time a command takes to load."""
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler or (
        threading.current_thread() is not threading.main_thread()
    ):
        yield
        return
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
