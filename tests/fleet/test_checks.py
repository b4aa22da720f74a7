"""One table by itself: what must be given, and given once."""

import numpy as np
import pyarrow as pa
import pytest

from riskmodel.errors import Problem
from riskmodel.fleet.cells import cells_of, text_of
from riskmodel.fleet.problems import problems_at, shown


def test_a_boat_twice_names_the_first_row(problems):
    vessels = "vessel_id,propulsion,value\nA,outboard,1\nB,outboard,1\nA,outboard,2\nA,outboard,3\n"
    assert problems(vessels=vessels) == [
        "vessels.csv row 4: vessel_id must be given once, row 2 has it too, got A",
        "vessels.csv row 5: vessel_id must be given once, row 2 has it too, got A",
    ]


def test_an_item_twice_names_the_first_row(problems):
    items = "item_id,vessel_id,item_class\nI,Wren,bilge_pump\n\nI,Plover,bilge_pump\n"
    assert problems(items=items) == ["items.csv row 4: item_id must be given once, row 2 has it too, got I"]


def test_missing_ids_are_missing_and_not_doubles(problems):
    items = "item_id,vessel_id,item_class\n,Wren,bilge_pump\n,Wren,bilge_pump\n"
    assert problems(items=items) == [
        "items.csv row 2: item_id must be given, got nothing",
        "items.csv row 3: item_id must be given, got nothing",
    ]


@pytest.mark.parametrize("missing", ["vessel_id", "propulsion", "value"])
def test_each_required_value_of_a_boat_is_missed(problems, missing):
    row = {"vessel_id": "A", "propulsion": "outboard", "value": "9000"} | {missing: ""}
    vessels = f"{','.join(row)}\n{','.join(row.values())}\n"
    assert problems(vessels=vessels) == [f"vessels.csv row 2: {missing} must be given, got nothing"]


@pytest.mark.parametrize("missing", ["date", "event"])
def test_each_required_value_of_a_record_is_missed(problems, plain, missing):
    row = {"item_id": "W1", "date": "2019-01-01", "event": "inspected"} | {missing: ""}
    found = problems(**{**plain, "records": f"{','.join(row)}\n{','.join(row.values())}\n"})
    assert found == [f"records.csv row 2: {missing} must be given, got nothing"]


@pytest.mark.parametrize(
    ("column", "word", "nearest"),
    [
        ("propulsion", "stern drive", "sterndrive"),
        ("fuel", "gasolene", "gasoline"),
        ("water", "brakish", "brackish"),
        ("climate", "tropic", "tropical"),
        ("kept", "moring", "mooring"),
        ("core", "balsar", "balsa"),
    ],
)
def test_each_chosen_word_of_a_boat_suggests_the_nearest(problems, column, word, nearest):
    row = {"vessel_id": "A", "propulsion": "outboard", "value": "9000"} | {column: word}
    found = problems(vessels=f"{','.join(row)}\n{','.join(row.values())}\n")
    assert found == [f"vessels.csv row 2: {column} must be a known word (nearest: {nearest}), got {word}"]


@pytest.mark.parametrize(
    ("column", "word"), [("finding", "sond"), ("thoroughness", "handeld"), ("reason", "schedule")]
)
def test_each_chosen_word_of_a_record_is_held(problems, plain, column, word):
    records = f"item_id,date,event,{column}\nW1,2019-01-01,inspected,{word}\n"
    found = problems(**{**plain, "records": records})
    assert len(found) == 1
    assert found[0].startswith(f"records.csv row 2: {column} must be a known word (nearest: ")


def test_every_bad_cell_of_a_long_table_is_told(problems):
    rows = "".join(f"I{number},Wren,bilge_pump,-1\n" for number in range(500))
    found = problems(items=f"item_id,vessel_id,item_class,bore_mm\n{rows}")
    assert len(found) == 500
    assert found[-1] == "items.csv row 501: bore_mm must be above 0, got -1"


def test_one_bad_cell_is_one_problem(problems, plain):
    items = "item_id,vessel_id,item_class,installed_on,installed_hours\nW1,Wren,bilge_pump,2031-01-01,-5\n"
    found = problems(items=items, records="item_id,date,event\nW1,2019-01-01,inspected\n")
    assert [message.split(" must")[0] for message in found] == [
        "items.csv row 2: installed_on",
        "items.csv row 2: installed_hours",
    ]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (float("nan"), ""),
        (12.0, "12"),
        (0.1, "0.1"),
        (-0.0, "-0"),
        (7, "7"),
        (True, "yes"),
        (" x ", "x"),
    ],
)
def test_a_cell_becomes_its_text(value, text):
    assert text_of(value) == text


def test_cells_give_back_their_rows():
    cells = cells_of(pa.chunked_array([["b", "a", None], ["a", " b "]]))
    assert cells.values.tolist() == ["b", "a", "", "a", "b"]
    assert len(cells.words) == 3


def test_cells_of_no_rows_have_no_words():
    for empty in (pa.chunked_array([], pa.string()), pa.array([], pa.float64())):
        assert cells_of(empty).values.tolist() == []


def test_long_values_are_cut_and_missing_ones_named():
    assert shown("") == "nothing"
    assert len(shown("x" * 500)) == 80
    assert shown(0) == "0"


def test_problems_stand_one_a_row():
    found = problems_at("f.csv", "c", [2, 5], "must be so", np.array(["", "y"], dtype=object))
    assert found == [
        Problem("f.csv", 2, "c", "must be so", "nothing"),
        Problem("f.csv", 5, "c", "must be so", "y"),
    ]
