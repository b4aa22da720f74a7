"""What is asked about a record, in which order, and which answers are accepted."""

import pytest

from riskmodel.errors import TableError
from riskmodel.fleet.asking import next_question, read_known, wrong_answer


@pytest.fixture
def known(write, plain, today):
    def read(**tables):
        return read_known(write(**plain | tables), today)

    return read


def asked(known, answers, today):
    """The columns asked for when each one not in ``answers`` is left blank."""
    answers, order = dict(answers), []
    while (question := next_question(known, answers, today)) is not None:
        order.append(question.field.name)
        answers[question.field.name] = ""
    return order


def question_of(name, known, answers, today):
    """The question for one column, everything before it being answered."""
    answers = dict(answers)
    while (question := next_question(known, answers, today)) is not None:
        if question.field.name == name:
            return question
        answers[question.field.name] = ""
    raise LookupError(name)


def test_a_part_is_asked_for_what_parts_have(known, today):
    assert asked(known(), {"item_id": "W1", "reading": "3"}, today) == [
        "date",
        "event",
        "finding",
        "thoroughness",
        "reason",
        "hours",
        "reading_unit",
        "note",
    ]


def test_a_boat_is_not_asked_for_what_only_parts_have(known, today):
    assert asked(known(), {"vessel_id": "Wren"}, today) == ["date", "event", "hours", "note"]
    assert asked(known(), {}, today) == ["item_id", "vessel_id", "date", "event", "hours", "note"]


def test_without_a_reading_its_unit_is_not_asked_for(known, today):
    order = asked(known(), {"item_id": "W1"}, today)
    assert "reading" in order
    assert "reading_unit" not in order


def test_what_was_given_is_not_asked_for(known, today):
    given = {
        "item_id": "W1",
        "event": "tested",
        "date": "2026-05-30",
        "note": "",
        "hours": "3",
        "reading": "",
    }
    assert asked(known(), given, today) == ["finding", "thoroughness", "reason"]


def test_events_are_those_of_the_thing_and_the_keepers_own_words(known, today):
    fleet = known(settings='[event_words]\nlooked_at = "inspected"\nlifted = "hauled"\n')
    part = question_of("event", fleet, {"item_id": "W1"}, today)
    boat = question_of("event", fleet, {"vessel_id": "Wren"}, today)
    assert part.choices == ("installed", "inspected", "adjusted", "tested", "replaced", "failed", "looked_at")
    assert boat.choices[0] == "launched"
    assert boat.choices[-1] == "lifted"
    assert wrong_answer(part, "Looked at", fleet) == ""
    assert wrong_answer(part, "lifted", fleet).startswith("must be a known word")
    assert wrong_answer(boat, "failed", fleet).startswith("must be a known word")


@pytest.mark.parametrize(
    ("name", "answer", "rule"),
    [
        ("item_id", "W1", ""),
        ("item_id", "", ""),
        ("item_id", "W11", r"must be in the items table"),
        ("date", "2026-05", ""),
        ("date", "2026-06-02", "must not be after 2026-06-01"),
        ("date", "soon", "must be a date such as 2019-05-14, 2019-05 or 2019"),
        ("event", "inspcted", "must be a known word (nearest: inspected)"),
        ("event", "", "must be given"),
        ("finding", "", ""),
        ("finding", "Sound", ""),
        ("finding", "fine", "must be a known word: sound, suspect, failing, failed, unknown"),
        ("hours", "12.5", ""),
        ("hours", "-1", "must not be below 0"),
        ("hours", "12,5", "must use the decimal mark declared"),
        ("note", "anything, really", ""),
        ("note", "\x07", "must be plain text without control characters"),
    ],
)
def test_an_answer_is_held_to_the_rules_of_the_check(known, today, name, answer, rule):
    fleet = known()
    given = {"item_id": "W1"} if name != "item_id" else {}
    told = wrong_answer(question_of(name, fleet, given, today), answer, fleet)
    assert told.startswith(rule)
    assert bool(told) == bool(rule)


def test_a_boat_must_be_named_where_no_part_is(known, today):
    fleet = known()
    question = question_of("vessel_id", fleet, {"item_id": ""}, today)
    assert question.choices == ("Wren", "Plover")
    assert wrong_answer(question, "", fleet) == "must be given"
    assert wrong_answer(question, "Wrenn", fleet).startswith("must be in the vessels table")


def test_many_ids_are_not_listed(known, today):
    boats = "vessel_id,propulsion,value\n" + "".join(f"B{count},outboard,9000\n" for count in range(13))
    fleet = known(vessels=boats, items=None, records=None)
    assert question_of("vessel_id", fleet, {}, today).choices == ()
    assert wrong_answer(question_of("vessel_id", fleet, {}, today), "B12", fleet) == ""


def test_numbers_may_be_typed_with_the_keepers_comma(known, plain, today):
    tables = {name: text.replace(",", ";") for name, text in plain.items()}
    fleet = known(**tables, settings='delimiter = ";"\ndecimal = ","\n')
    question = question_of("hours", fleet, {"item_id": "W1"}, today)
    assert wrong_answer(question, "12,5", fleet) == wrong_answer(question, "12.5", fleet) == ""
    assert wrong_answer(question, "1.234", fleet).startswith("must be a number with the decimal comma")


def test_a_fleet_that_cannot_be_read_is_refused(write, plain, today):
    with pytest.raises(TableError, match=r"must be separated as declared"):
        read_known(write(**plain | {"items": "item_id;vessel_id;item_class\n"}), today)
