"""Records that say one thing twice: refused when added, asked about when checked."""

import pytest

from riskmodel.errors import TableError
from riskmodel.fleet import Repeat, add_record, check_fleet, preview_record

HEAD = "item_id,vessel_id,date,event,finding,reason,hours,note\n"
RENEWED = {"item_id": "W1", "date": "2021-05-30", "event": "replaced", "reason": "failure"}
DONE = HEAD + "W1,,2018-05-01,inspected,sound,,,\nW1,,2021-05-30,replaced,,failure,,\n"


@pytest.fixture
def notes(load, plain):
    """What is asked about records given as lines."""

    def found(*lines):
        told = load(**plain | {"records": HEAD + "".join(f"{line}\n" for line in lines)}).notes
        return [note for note in told if "records.csv" in note]

    return found


SAME = [
    {},
    {"note": "a new one"},
    {"vessel_id": "Wren"},
    {"reason": ""},
    {"hours": "120"},
    {"finding": "failed"},
]
OTHER = [{"date": "2021-05-31"}, {"date": "2021-05"}, {"event": "tested"}, {"reason": "scheduled"}]


@pytest.mark.parametrize("change", SAME)
def test_a_record_that_says_no_more_than_another_is_refused_where_it_stands(write, plain, today, change):
    folder = write(**plain | {"records": DONE})
    for add in (add_record, preview_record):
        with pytest.raises(
            TableError, match=r"records.csv row 4: must not say again what row 3 says: give --again"
        ):
            add(folder, RENEWED | change, today=today)
    assert (folder / "records.csv").read_text() == DONE


@pytest.mark.parametrize("change", SAME)
def test_it_is_added_where_it_is_meant(write, plain, today, change):
    folder = write(**plain | {"records": DONE})
    assert add_record(folder, RENEWED | change, today=today, repeat=Repeat.MEANT).row == 4
    assert check_fleet(folder, today=today) == []


@pytest.mark.parametrize("change", OTHER)
def test_a_record_that_says_something_else_is_no_repeat(write, plain, today, change):
    folder = write(**plain | {"records": DONE})
    assert add_record(folder, RENEWED | change, today=today).row == 4


def test_the_same_of_another_boat_is_no_repeat(write, plain, today):
    folder = write(**plain | {"records": HEAD + ",Wren,2019-10-12,hauled,,,,\n"})
    assert add_record(folder, {"vessel_id": "Plover", "event": "hauled", "date": "2019-10-12"}).row == 3
    with pytest.raises(TableError, match="row 4: must not say again what row 2 says"):
        add_record(folder, {"vessel_id": "Wren", "event": "hauled", "date": "2019-10-12"}, today=today)


def test_identical_records_are_asked_about(notes):
    line = "W1,,2018-05-01,inspected,sound,,,"
    (asked,) = notes(line, line + "seen again")
    assert asked == (
        "records.csv: 1 record says what an earlier one says (row 3 as row 2): take out what happened once."
    )
    assert "3 records say what an earlier one says (row 3 as row 2, row 4 as row 2" in notes(*[line] * 4)[0]
    assert ", ...)" in notes(*[line] * 5)[0]


def test_records_that_differ_in_what_they_say_are_not_asked_about(notes):
    assert notes("W1,,2018-05-01,inspected,sound,,,", "W1,,2018-05-01,inspected,sound,,120,") == []


def test_two_renewals_of_one_part_within_days_are_asked_about(notes):
    (asked,) = notes("W1,,2021-05-30,replaced,,failure,,", "W1,,2021-05-20,replaced,,failure,,")
    assert asked == (
        "records.csv: 1 part was renewed twice within 14 days (W1 in rows 3 and 2): take out what is a slip."
    )


CLEAR = [
    ("W1,,2021-05-15,replaced,,failure,,", "W1,,2021-05-30,replaced,,failure,,"),
    ("W1,,2021-05-20,replaced,,failure,,", "P1,,2021-05-20,replaced,,failure,,"),
    ("W1,,2021-05-20,replaced,,failure,,", "W1,,2021-05-20,installed,,,,"),
    (
        "W1,,2021-05-20,replaced,,failure,,",
        "W1,,2021-05-24,failed,,,,",
        "W1,,2021-05-26,replaced,,failure,,",
    ),
    (
        "W1,,2021-05-20,replaced,,condition,,",
        "W1,,2021-05-24,inspected,failing,,,",
        "W1,,2021-05-26,replaced,,condition,,",
    ),
]


@pytest.mark.parametrize("lines", CLEAR)
def test_renewals_that_are_clear_are_not_asked_about(notes, lines):
    assert notes(*lines) == []


def test_several_like_parts_of_one_row_may_be_renewed_one_after_another(load):
    items = "item_id,vessel_id,item_class,quantity\nC1,Wren,hose_clamps,40\n"
    lines = "C1,,2021-05-20,replaced,,failure,,\nC1,,2021-05-26,replaced,,failure,,\n"
    assert not [note for note in load(items=items, records=HEAD + lines).notes if "within 14 days" in note]


def test_a_renewal_written_down_twice_is_asked_about_once(notes):
    line = "W1,,2021-05-20,replaced,,failure,,"
    assert len(notes(line, line)) == 1
