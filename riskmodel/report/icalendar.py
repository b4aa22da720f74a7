"""Writes dated tasks as an iCalendar file that any calendar reads, and that updates itself when read in again.

Source: RFC 5545, read as we remember it: content lines folded at 75 octets, text escaped, CRLF, all-day dates.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

# A line holds no more octets than this, its end not counted (RFC 5545, section 3.1).
OCTETS = 75
PRODUCER = "-//riskmodel//season//EN"
# Names in it are ours alone: the namespace of the identifiers below, made once and never changed.
NAMESPACE = uuid.UUID("3d1f8a52-7c0b-5e4e-9d55-6f0c2b8e41a7")
# Counts days for SEQUENCE, so that a later look at the same boat supersedes an earlier one.
FIRST_DAY = date(2000, 1, 1)
# Room for what is known within a day; the whole fits 31 bits until 2058 (RFC 5545, 3.3.8).
A_DAY = 100_000
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


@dataclass(frozen=True)
class Event:
    """One all-day event: what identifies it (``key``), its day, its line, what is told about it, its group, and whether
    it is called off (``cancelled``)."""

    key: tuple[str, ...]
    day: date
    summary: str
    description: str
    category: str
    cancelled: bool = False


def calendar_text(events: Sequence[Event], name: str, as_of: date, *, known: int = 0) -> str:
    """The events as the text of an .ics file, with CRLF line ends.

    The same events seen from the same day make the same bytes; seen from a later day an event with the same key
    keeps its UID and has a higher SEQUENCE, so that a calendar updates it; seen from the same day, the one for which
    more was ``known`` (a count).
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCER}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{escaped(name)}",
        f"X-WR-CALNAME:{escaped(name)}",
    ]
    for event in events:
        lines += _event_lines(event, as_of, sequence_of(as_of, known))
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line))


def event_uid(key: Sequence[str]) -> str:
    """A UID that depends on the key alone."""
    # The parts may hold any character but this one, so no two keys are joined alike.
    return f"{uuid.uuid5(NAMESPACE, chr(31).join(key))}@riskmodel"


def sequence_of(as_of: date, known: int) -> int:
    """Higher on a later day, and on the same day where more is known, up to A_DAY."""
    return max((as_of - FIRST_DAY).days, 0) * A_DAY + min(known, A_DAY - 1)


def escaped(text: str) -> str:
    """Text as a TEXT value: backslash, semicolon, comma and line ends escaped, other control characters left out."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    plain = CONTROL.sub("", plain).replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return plain.replace("\n", "\\n")


def folded(line: str) -> Iterator[str]:
    """A content line in parts of at most OCTETS octets, all but the first beginning with a space; no letter is cut."""
    part, room = "", OCTETS
    for letter in line:
        size = len(letter.encode("utf-8"))
        if size > room:
            yield part
            part, room = " ", OCTETS - 1
        part += letter
        room -= size
    yield part


def _event_lines(event: Event, as_of: date, sequence: int) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{event_uid(event.key)}"
    yield f"DTSTAMP:{as_of:%Y%m%d}T000000Z"
    yield f"SEQUENCE:{sequence}"
    yield f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}"
    yield f"SUMMARY:{escaped(event.summary)}"
    yield f"DESCRIPTION:{escaped(event.description)}"
    yield f"CATEGORIES:{escaped(event.category)}"
    if event.cancelled:
        yield "STATUS:CANCELLED"
    # A task takes no hours out of the day for others to see.
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"
