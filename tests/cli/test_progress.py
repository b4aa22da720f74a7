"""The line that says how far a reading is: drawn where somebody looks, and wiped."""

import io
import os
import pty
import select
import sys

import pytest
from riskmodel.cli.progress import line_of, progress


@pytest.fixture
def terminal(monkeypatch):
    """Makes stderr a terminal from where it is called on, and gives a function that reads what was written to it."""
    reader, writer = pty.openpty()
    with os.fdopen(writer, "w") as screen:

        def written():
            screen.flush()
            text = ""
            # What was written takes a moment to come out at the other end.
            while select.select([reader], [], [], 0.1)[0]:
                text += os.read(reader, 65536).decode()
            return text

        def watch():
            monkeypatch.setattr(sys, "stderr", screen)
            return written

        yield watch
    os.close(reader)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("parts", 500, 1000, 2.0), "parts  [############------------]  50 %  250 a second, 2 s left"),
        (("boats", 1_000_000, 1_000_000, 0.5), "boats  [########################] 100 %  2,000,000 a second"),
        (("boats", 0, 1000, 0.0), "boats  [------------------------]   0 %  0 a second"),
        (("parts", 0, 0, 0.0), "parts  [########################] 100 %  0 a second"),
    ],
)
def test_a_line_says_how_far_how_fast_and_how_long(words, line):
    assert line_of(*words) == line


def test_a_line_fits_a_terminal():
    assert len(line_of("parts", 119_999_999, 120_000_000, 1e-6)) < 80
    assert len(line_of("parts", 1, 120_000_000, 1.0)) < 80


def test_it_is_drawn_over_itself_and_wiped(terminal):
    written = terminal()
    with progress(quiet=False) as tell:
        tell("boats", 1, 2)
        tell("boats", 2, 2)
        drawn = written()
    assert drawn.count("\r\033[K") == 2
    assert "100 %" in drawn
    assert "\n" not in drawn
    assert written() == "\r\033[K"


def test_an_interrupted_reading_wipes_it_too(terminal):
    written = terminal()

    def interrupted():
        with progress(quiet=False) as tell:
            tell("boats", 1, 2)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    drawn = written()
    assert "boats" in drawn
    assert drawn.endswith("\r\033[K")


def test_quick_steps_are_not_all_drawn(terminal):
    written = terminal()
    with progress(quiet=False) as tell:
        for done in range(1, 1000):
            tell("parts", done, 1000)
        assert 1 <= written().count("\r") < 10


def test_nothing_is_written_where_nobody_looks(terminal, monkeypatch):
    written = terminal()
    with progress(quiet=True) as tell:
        tell("boats", 1, 1)
    assert written() == ""
    plain = io.StringIO()
    monkeypatch.setattr(sys, "stderr", plain)
    with progress(quiet=False) as tell:
        tell("boats", 1, 1)
    assert plain.getvalue() == ""


def test_a_closed_stderr_is_nobody_who_looks(monkeypatch):
    monkeypatch.setattr(sys, "stderr", None)
    with progress(quiet=False) as tell:
        tell("boats", 1, 2)
