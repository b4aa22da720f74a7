"""The calendar file read by a library that is not ours (icalendar, on PyPI), against RFC 5545."""

import datetime
from dataclasses import replace

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.plan.season.calendar import season_calendar
from riskmodel.plan.season.season import season_of
from riskmodel.report.icalendar import Event, calendar_text
from riskmodel.report.season_parts import calendar_file, events_of

TODAY = datetime.date(2026, 11, 2)
# Letters that a text value may hold: no control characters but the line's end.
WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=120)


def read(text):
    return icalendar.Calendar.from_ical(text.encode("utf-8"))


def events_in(text):
    return {str(event["UID"]): event for event in read(text).walk("VEVENT")}


@pytest.fixture(scope="module")
def seasons(demo_fleet):
    """The same boat's season seen from three days, nothing done in between."""
    days = (TODAY, datetime.date(2026, 12, 20), datetime.date(2027, 2, 3))
    found = [season_of(replace(demo_fleet, as_of=day), "L01") for day in days]
    return [(season, season_calendar(season.result)) for season in found]


def test_every_task_is_read_back_with_its_day_and_words(seasons):
    season, calendar = seasons[0]
    found = events_in(calendar_file(season, calendar))
    assert len(found) == len(calendar.tasks)
    told = sorted(
        (str(each["SUMMARY"]), str(each["DESCRIPTION"]), each["DTSTART"].dt) for each in found.values()
    )
    assert told == sorted((each.summary, each.description, each.day) for each in events_of(season, calendar))


def test_it_holds_what_the_standard_requires(seasons):
    """RFC 5545: VERSION and PRODID once (3.6), UID and DTSTAMP in every event (3.6.1), UTC in DTSTAMP (3.8.7.2),
    an end after its start (3.6.1), no unread property."""
    text = calendar_file(*seasons[0])
    calendar = read(text)
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    assert calendar["METHOD"] == "PUBLISH"
    for event in calendar.walk("VEVENT"):
        assert event["UID"]
        assert event["DTSTAMP"].dt == datetime.datetime(2026, 11, 2, tzinfo=datetime.UTC)
        assert event["DTEND"].dt - event["DTSTART"].dt == datetime.timedelta(days=1)
        assert type(event["DTSTART"].dt) is datetime.date
        assert event["TRANSP"] == "TRANSPARENT"
        assert event.errors == []


def test_lines_are_folded_at_75_octets(seasons):
    """RFC 5545, section 3.1: lines should not be longer than 75 octets, the line break left out."""
    lines = calendar_file(*seasons[0]).encode("utf-8").split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)


def test_reading_it_in_again_updates_and_never_doubles(seasons):
    """RFC 5545, 3.8.7.4: the same UID with a higher SEQUENCE is a revision. Seen from later days, with nothing done,
    each part has each task no more than once in a month, and what was put off has moved."""
    kept = {}
    for season, calendar in seasons:
        for uid, event in events_in(calendar_file(season, calendar)).items():
            if uid in kept:
                assert event["SEQUENCE"] > kept[uid]["SEQUENCE"]
                assert event["SUMMARY"] == kept[uid]["SUMMARY"]
            kept[uid] = event
    first, last = (events_in(calendar_file(*each)) for each in (seasons[0], seasons[-1]))
    # Nothing of the first file is left behind by the last, but what the ranking no longer asks for.
    assert len(set(first) - set(last)) <= 0.1 * len(first)
    ids = {event_uid: event["DTSTART"].dt for event_uid, event in kept.items()}
    keys = {}
    for season, calendar in seasons:
        for row, event in zip(calendar.tasks.itertuples(), events_of(season, calendar), strict=True):
            keys[_uid_of(event)] = (row.item_id, row.task)
    months = [(*keys[uid], f"{day:%Y-%m}") for uid, day in ids.items()]
    assert len(months) == len(set(months))


def _uid_of(event):
    (uid,) = events_in(calendar_text([event], "one", TODAY))
    return uid


@given(WORDS, WORDS)
def test_any_words_come_through_whole(summary, description):
    event = Event(("B1", "I0", "look", "2027-04"), TODAY, f"a{summary}", f"b{description}\nc", "in the water")
    (found,) = read(calendar_text([event], "Work", TODAY)).walk("VEVENT")
    assert str(found["SUMMARY"]) == event.summary
    assert str(found["DESCRIPTION"]) == event.description


def test_our_text_is_that_of_the_other_library(seasons):
    """Written anew by the other library, every property has the value that it has in our file."""
    text = calendar_file(*seasons[0])
    again = read(read(text).to_ical().decode("utf-8"))
    assert [dict(event) for event in again.walk("VEVENT")] == [
        dict(event) for event in read(text).walk("VEVENT")
    ]
