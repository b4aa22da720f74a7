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
    before = signal.getsignal(signal.SIGINT)
    end_quietly()
    try:
        yield
    finally:
        if signal.getsignal(signal.SIGINT) is not before:
            signal.signal(signal.SIGINT, before)


def end_quietly() -> None:
    """From now on an interrupt ends the program without a word, where it would have raised KeyboardInterrupt."""
    ours = threading.current_thread() is threading.main_thread()
    if ours and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
