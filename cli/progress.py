"""Tells how far a long reading is, on stderr, where somebody looks at it."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from riskmodel.stopping import undone_at_a_stop

WIDTH = 24
# Seconds between two lines: oftener is only flicker.
PAUSE = 0.2
Tell = Callable[[str, int, int], None]


@contextmanager
def progress(quiet: bool) -> Iterator[Tell]:
    """A function ``(what, done, of)`` that draws one line over the last, with rate and time left; silent when quiet or
    where stderr is no terminal. The line is wiped at the end, also of a reading that a signal ends."""
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield lambda what, done, of: None
        return
    line = _Line()
    with undone_at_a_stop(line.wipe):
        try:
            yield line.draw
        finally:
            line.wipe()


class _Line:
    """One line of a terminal, and when each reading began."""

    def __init__(self) -> None:
        self.began: dict[str, float] = {}
        self.drawn = -PAUSE
        self.start = time.monotonic()

    def draw(self, what: str, done: int, of: int) -> None:
        now = time.monotonic()
        began = self.began.setdefault(what, self.start if not self.began else now)
        if now - self.drawn < PAUSE and done < of:
            return
        self.drawn = now
        sys.stderr.write(f"\r\033[K{line_of(what, done, of, now - began)}")
        sys.stderr.flush()

    def wipe(self) -> None:
        sys.stderr.write("\r\033[K")
        sys.stderr.flush()


def line_of(what: str, done: int, of: int, seconds: float) -> str:
    """Such as ``parts  [######------]  50 %  1,200,000 a second, 12 s left``."""
    share = done / of if of else 1.0
    full = round(WIDTH * share)
    rate = done / seconds if seconds > 0 else 0.0
    left = f", {(of - done) / rate:,.0f} s left" if rate > 0 and done < of else ""
    bar = "#" * full + "-" * (WIDTH - full)
    return f"{what:<6} [{bar}] {100 * share:3.0f} %  {rate:,.0f} a second{left}"
