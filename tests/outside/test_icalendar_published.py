"""The calendar file read by a library that is not ours (icalendar, on PyPI), against RFC 5545."""

import csv
import datetime
import shutil
from dataclasses import replace
from importlib.resources import as_file, files

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.fleet import load_fleet
from riskmodel.plan.season.calendar import season_calendar
from riskmodel.plan.season.season import season_of
from riskmodel.report.icalendar import Event, calendar_text
from riskmodel.report.season_events import events_of, times_at_most
from riskmodel.report.season_parts import calendar_file
from riskmodel.risk import months_ahead

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
    live = [each for each in found.values() if "STATUS" not in each]
    assert len(live) == len(calendar.tasks)
    told = sorted((str(each["SUMMARY"]), str(each["DESCRIPTION"]), each["DTSTART"].dt) for each in live)
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


def imported(texts):
    """What a calendar holds after it has read these files in turn: RFC 5545, 3.8.7.4, the same UID with a higher
    SEQUENCE is a revision; 3.8.1.11, what is cancelled is not on."""
    kept = {}
    for text in texts:
        for uid, event in events_in(text).items():
            if uid not in kept or event["SEQUENCE"] > kept[uid]["SEQUENCE"]:
                kept[uid] = event
    return sorted(
        (str(event["SUMMARY"]), event["DTSTART"].dt)
        for event in kept.values()
        if event.get("STATUS") != "CANCELLED"
    )


def as_made(season, calendar):
    return sorted((event.summary, event.day) for event in events_of(season, calendar))


def test_reading_it_in_again_moves_entries_and_never_doubles(seasons):
    """Seen from later days with nothing done: after each reading the calendar holds what the last one says."""
    texts = [calendar_file(*each) for each in seasons]
    for count in range(1, len(texts) + 1):
        assert imported(texts[:count]) == as_made(*seasons[count - 1])


@pytest.fixture(scope="module")
def lapwing(tmp_path_factory):
    """The season of a boat afloat all year from a day, the fleet's records and these besides."""

    def made(day, *more):
        folder = tmp_path_factory.mktemp("fleet") / "boats"
        with as_file(files("riskmodel.data.demo")) as demo:
            shutil.copytree(demo, folder)
        with (folder / "records.csv").open(newline="", encoding="utf-8") as file:
            columns = csv.DictReader(file).fieldnames
        with (folder / "records.csv").open("a", newline="", encoding="utf-8") as file:
            csv.DictWriter(file, columns, restval="").writerows(more)
        season = season_of(load_fleet(folder, as_of=day, today=datetime.date(2027, 12, 31)), "L10")
        return season, season_calendar(season.result)

    return made


TEST = {"item_id": "L10-bilge-pump-1", "date": "2026-11-20", "event": "tested", "finding": "sound"}
LOOK = {"item_id": "L10-transducer-fitting-1", "date": "2026-11-20", "event": "inspected", "finding": "sound"}
HOSE = {"item_id": "L10-wet-exhaust-hose-1", "date": "2026-11-25", "event": "replaced", "reason": "scheduled"}


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("later", "done"),
    [
        (datetime.date(2026, 12, 5), [TEST]),
        (datetime.date(2026, 12, 5), [TEST, LOOK, HOSE]),
        (datetime.date(2027, 3, 1), [TEST | {"date": "2027-02-27"}, LOOK]),
        (datetime.date(2027, 10, 20), [TEST, HOSE, TEST | {"date": "2027-09-30"}]),
        (TODAY, [TEST | {"date": "2026-11-02"}]),
    ],
    ids=["a test", "a test, a look, a renewal", "a late test", "the next season", "on one day"],
)
def test_what_was_recorded_in_between_leaves_no_stale_day(lapwing, later, done):
    first, then = lapwing(TODAY), lapwing(later, *done)
    held = imported([calendar_file(*first), calendar_file(*then)])
    assert held == as_made(*then)
    assert len(set(held)) == len(held)
    assert held != as_made(*first)


@pytest.mark.thorough
def test_a_pump_tested_in_november_is_next_tested_in_february(lapwing):
    then = lapwing(datetime.date(2026, 12, 5), TEST)
    held = imported([calendar_file(*lapwing(TODAY)), calendar_file(*then)])
    tests = [day for told, day in held if told.endswith("Bilge pump: move water")]
    tests = [day for day in tests if day > datetime.date(2026, 12, 5)]
    assert tests == [datetime.date(2027, month, 1) for month in (2, 5, 8)]


@pytest.mark.thorough
@pytest.mark.parametrize(("vessel_id", "months"), [("L10", 24), ("L10", 12), ("L16", 24), ("L01", 24)])
def test_no_calendar_holds_more_of_a_task_than_can_be_called_off(demo_fleet, vessel_id, months):
    result = season_of(demo_fleet, vessel_id, months_ahead(TODAY, months)).result
    most_given = season_calendar(result).tasks.groupby(["item_class", "task"])["number"].max()
    for (name, task), number in most_given.items():
        assert number <= dict(times_at_most(result.trade.classes[name], result.trade, months))[task]


@pytest.mark.thorough
def test_a_calendar_of_two_years_is_replaced_by_one_of_a_season(demo_fleet):
    long = season_of(demo_fleet, "L10", months_ahead(TODAY, 24))
    day = datetime.date(2026, 12, 5)
    season = season_of(replace(demo_fleet, as_of=day), "L10")
    then = season, season_calendar(season.result)
    assert imported([calendar_file(long, season_calendar(long.result)), calendar_file(*then)]) == as_made(
        *then
    )


def test_what_is_called_off_lies_in_the_past(seasons):
    for event in events_in(calendar_file(*seasons[0])).values():
        if "STATUS" in event:
            assert event["DTSTART"].dt == TODAY - datetime.timedelta(days=1)
            assert "no longer due" in str(event["SUMMARY"])


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
