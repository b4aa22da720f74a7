"""What the tables say of each other."""

import pytest

from riskmodel.fleet.links import ITEM_EVENTS
from riskmodel.fleet.schema import read_schema

VESSEL_EVENTS = [
    event
    for field in read_schema("records").fields
    if field.name == "event"
    for event in field.enum
    if event not in ITEM_EVENTS
]


def records(*rows, head="item_id,vessel_id,date,event"):
    return "\n".join([head, *rows]) + "\n"


def test_an_item_of_no_boat_is_an_orphan(problems):
    items = "item_id,vessel_id,item_class\nI,Wrne,bilge_pump\nJ,Wren,bilge_pump\n"
    assert problems(items=items) == ["items.csv row 2: vessel_id must be in the vessels table, got Wrne"]


def test_ids_must_agree_to_the_letter(problems):
    items = "item_id,vessel_id,item_class\nI,wren,bilge_pump\n"
    assert problems(items=items) == ["items.csv row 2: vessel_id must be in the vessels table, got wren"]


def test_a_record_of_no_item_or_no_boat_is_an_orphan(problems, plain):
    found = problems(**{**plain, "records": records("X,,2019-01-01,inspected", ",Y,2019-01-01,hauled")})
    assert found == [
        "records.csv row 2: item_id must be in the items table, got X",
        "records.csv row 3: vessel_id must be in the vessels table, got Y",
    ]


def test_a_record_of_an_item_needs_an_items_table(problems):
    found = problems(records=records("W1,,2019-01-01,inspected"))
    assert found == ["records.csv row 2: item_id must be in the items table, got W1"]


def test_a_record_about_nothing_is_refused(problems, plain):
    found = problems(**{**plain, "records": records(",,2019-01-01,inspected")})
    assert found == ["records.csv row 2: item_id must be given, or vessel_id, got nothing"]


def test_a_record_may_name_the_item_and_its_boat(problems, plain):
    assert problems(**{**plain, "records": records("W1,Wren,2019-01-01,inspected")}) == []


def test_a_record_must_not_name_another_boat_than_its_items(problems, plain):
    found = problems(**{**plain, "records": records("W1,Plover,2019-01-01,inspected")})
    assert found == ["records.csv row 2: vessel_id must be Wren, the boat the item is on, got Plover"]


@pytest.mark.parametrize("event", ITEM_EVENTS)
def test_what_happens_to_a_part_names_its_item(problems, plain, event):
    assert problems(**{**plain, "records": records(f"W1,,2019-01-01,{event}")}) == []
    found = problems(**{**plain, "records": records(f",Wren,2019-01-01,{event}")})
    assert found == [f"records.csv row 2: event must name its item_id, got {event}"]


@pytest.mark.parametrize("event", VESSEL_EVENTS)
def test_what_happens_to_a_boat_names_its_vessel(problems, plain, event):
    assert problems(**{**plain, "records": records(f",Wren,2019-01-01,{event}")}) == []
    found = problems(**{**plain, "records": records(f"W1,,2019-01-01,{event}")})
    assert found == [f"records.csv row 2: event must name its vessel_id, got {event}"]


def test_the_events_of_boats_are_those_of_the_contract():
    contract = (
        "launched hauled laid_up commissioned hours_read meter_changed surveyed bought sold grounded frozen"
    )
    assert set(VESSEL_EVENTS) == {*contract.split(), "repowered"}


def test_a_failure_is_not_sound(problems, plain):
    found = problems(
        **{**plain, "records": records("W1,2019-01-01,failed,sound", head="item_id,date,event,finding")}
    )
    assert found == ["records.csv row 2: finding must not be sound where the event is failed, got sound"]


@pytest.mark.parametrize(
    ("given", "lacking"), [("season_start", "season_end"), ("season_end", "season_start")]
)
def test_half_a_season_is_refused(problems, given, lacking):
    vessels = f"vessel_id,propulsion,value,{given}\nA,outboard,9000,04-15\nB,outboard,9000,\n"
    assert problems(vessels=vessels) == [
        f"vessels.csv row 2: {lacking} must be given with {given}, got nothing"
    ]


def test_an_unknown_event_is_one_problem_and_not_two(problems, plain):
    found = problems(**{**plain, "records": records("W1,,2019-01-01,inspectd")})
    assert found == ["records.csv row 2: event must be a known word (nearest: inspected), got inspectd"]
