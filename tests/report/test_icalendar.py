"""The calendar file: lines short, text whole, the same events the same bytes, a later look an update."""

import datetime
import re
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from riskmodel.report.icalendar import OCTETS, Event, calendar_text, escaped, event_uid, folded, sequence_of

DAY = datetime.date(2027, 4, 1)
TODAY = datetime.date(2026, 11, 2)
WORDS = st.text(st.characters(exclude_categories=("Cs",)), max_size=200)


def event(*key, day=DAY, summary="Test the pump", description="Pour in clean water."):
    return Event(key or ("B1", "I0", "move_water", "2027-04"), day, summary, description, "in the water")


def unfolded(text):
    return text.replace("\r\n ", "").split("\r\n")


def value(text, name):
    return [line.partition(":")[2] for line in unfolded(text) if re.match(f"{name}[:;]", line)]


@given(WORDS)
def test_no_line_is_too_long_and_no_letter_is_cut(words):
    line = f"SUMMARY:{escaped(words)}"
    parts = list(folded(line))
    assert all(len(part.encode("utf-8")) <= OCTETS for part in parts)
    assert all(part.startswith(" ") for part in parts[1:])
    assert parts[0] + "".join(part[1:] for part in parts[1:]) == line


def test_a_line_of_seventy_five_octets_is_left_whole():
    assert list(folded("x" * 75)) == ["x" * 75]
    assert [len(part) for part in folded("x" * 76)] == [75, 2]


def test_a_letter_of_several_octets_moves_to_the_next_line():
    parts = list(folded("x" * 74 + "é"))
    assert parts == ["x" * 74, " é"]


@given(WORDS)
def test_escaped_text_is_read_back(words):
    read = re.sub(r"\\(.)", lambda found: {"n": "\n"}.get(found[1], found[1]), escaped(words))
    plain = re.sub(r"[\x00-\x08\x0b-\x1f\x7f]", "", words.replace("\r\n", "\n").replace("\r", "\n"))
    assert read == plain


def test_what_would_end_a_value_is_escaped():
    assert escaped("a, b; c\\d\ne") == "a\\, b\\; c\\\\d\\ne"


def test_line_ends_are_the_formats_own():
    text = calendar_text([event()], "Work", TODAY)
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert "\r" not in text.replace("\r\n", "")


def test_a_line_smuggled_into_a_name_stays_text():
    text = calendar_text([event(summary="Oar\r\nEND:VCALENDAR")], "A\nBEGIN:VEVENT", TODAY)
    assert unfolded(text).count("END:VCALENDAR") == 1
    assert unfolded(text).count("BEGIN:VEVENT") == 1


def test_days_are_whole_days_and_the_end_is_not_in_them():
    text = calendar_text([event(day=datetime.date(2027, 12, 31))], "Work", TODAY)
    assert "DTSTART;VALUE=DATE:20271231" in unfolded(text)
    assert "DTEND;VALUE=DATE:20280101" in unfolded(text)


def test_the_same_events_make_the_same_bytes():
    events = [event(), event("B1", "I1", "repack", "2027-04")]
    assert calendar_text(events, "Work", TODAY) == calendar_text(events, "Work", TODAY)


def test_an_identifier_hangs_on_the_key_alone():
    first = calendar_text([event()], "Work", TODAY)
    again = calendar_text(
        [event(day=DAY + datetime.timedelta(days=9), summary="Other words")],
        "Another name",
        TODAY + datetime.timedelta(days=40),
    )
    assert value(first, "UID") == value(again, "UID")
    assert int(value(again, "SEQUENCE")[0]) > int(value(first, "SEQUENCE")[0])


@given(st.integers(0, 20_000), st.integers(0, 10**7), st.integers(1, 400), st.integers(0, 10**7))
def test_a_later_day_supersedes_whatever_was_known(days, known, later, then):
    day = datetime.date(2000, 1, 1) + datetime.timedelta(days=days)
    assert sequence_of(day, known) < sequence_of(day + datetime.timedelta(days=later), then)
    # RFC 5545, 3.3.8: an INTEGER lies below 2^31.
    assert sequence_of(datetime.date(2050, 1, 1), known) < 2**31


def test_of_two_calendars_of_one_day_the_one_that_knows_more_supersedes():
    assert sequence_of(TODAY, 12) < sequence_of(TODAY, 13)
    text = calendar_text([event()], "Work", TODAY, known=13)
    assert value(text, "SEQUENCE") == [str(sequence_of(TODAY, 13))]


def test_what_is_called_off_says_so():
    assert value(calendar_text([event()], "Work", TODAY), "STATUS") == []
    off = replace(event(), cancelled=True)
    assert value(calendar_text([off], "Work", TODAY), "STATUS") == ["CANCELLED"]


@given(st.lists(WORDS, min_size=4, max_size=4), st.lists(WORDS, min_size=4, max_size=4))
def test_no_two_keys_share_an_identifier(one, other):
    def plain(key):
        return [word.replace(chr(31), "") for word in key]

    assert (event_uid(plain(one)) == event_uid(plain(other))) == (plain(one) == plain(other))


def test_parts_of_a_key_are_not_run_together():
    assert event_uid(("ab", "c")) != event_uid(("a", "bc"))


def test_an_identifier_never_changes_from_release_to_release():
    """Written out: another value here would double every event that people have imported."""
    assert event_uid(("B1", "I0", "move_water", "2027-04")) == UID


def test_a_calendar_without_events_is_one_all_the_same():
    lines = unfolded(calendar_text([], "Work", TODAY))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert "BEGIN:VEVENT" not in lines


def test_a_day_before_our_count_begins_has_sequence_nought():
    assert value(calendar_text([event()], "Work", datetime.date(1999, 1, 1)), "SEQUENCE") == ["0"]


UID = "056e2ebb-77ba-5db1-b042-336fe115d345@riskmodel"
