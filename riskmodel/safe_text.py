"""Text from tables as people may safely read it: nothing that steers a screen, nothing that a spreadsheet works out."""

from __future__ import annotations

import re

# Marks that change the order or the lines of what is read, and marks nobody sees: Unicode's bidirectional controls
# (UAX 9), line and paragraph separators, byte-order and annotation marks, tags.
_HIDDEN = "\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufff9-\ufffb\U000e0000-\U000e007f"
_WHITE = "\t\n\v\f\r\x1c-\x1f\x85\u2028\u2029"
# As RE2 and Python's re both read it.
HARMFUL = f"[\x00-\x1f\x7f-\x9f{_HIDDEN}]"
_HARMFUL = re.compile(HARMFUL)
_WHITE_RUN = re.compile(f"\r\n|[{_WHITE}]")
_HARMFUL_ON_A_PAGE = re.compile(f"[\x00-\x09\x0b-\x1f\x7f-\x9f{_HIDDEN}]")
# What a spreadsheet takes for the beginning of a formula (OWASP, CSV injection; from memory).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def visible(text: str) -> str:
    """A cell's text on one line: ends of lines and tabs as spaces, control and bidirectional marks as ``<U+001B>``."""
    if text.isascii() and text.isprintable():
        return text
    return _HARMFUL.sub(_mark, _WHITE_RUN.sub(" ", text))


def visible_page(text: str) -> str:
    """A whole page, whose ends of lines are its own, without any other control or bidirectional character."""
    return _HARMFUL_ON_A_PAGE.sub(_mark, text)


def inert(text: str) -> str:
    """A cell's text for a CSV file: an apostrophe stands before what a spreadsheet would work out; numbers stay."""
    return f"'{text}" if text.startswith(_FORMULA) and not _is_number(text) else text


def _mark(found: re.Match[str]) -> str:
    return f"<U+{ord(found.group()):04X}>"


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    # Python takes "1_000" and other scripts' digits for numbers, a spreadsheet does not.
    return text.isascii() and "_" not in text and text.strip() == text
