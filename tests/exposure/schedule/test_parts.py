"""Parts are counted as anybody would count them with the whole tables in hand."""

import datetime

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import TableError
from riskmodel.exposure.schedule.ages import ALL_CELLS, UNKNOWN, age_days, cells_of_ages
from riskmodel.exposure.schedule.door import open_schedule
from riskmodel.exposure.schedule.reading import read_schedule, read_sound_rows
from riskmodel.exposure.schedule.running import one_after_another

BOATS = pd.DataFrame(
    {"vessel_id": ["B1", "B2"], "propulsion": ["outboard", "sail_shaft"], "value": [9000, 70000]}
)


def parts(*rows):
    frame = pd.DataFrame(list(rows))
    plain = {"item_id": [f"I{n}" for n in range(len(frame))], "vessel_id": "B1", "item_class": "bilge_pump"}
    for name, value in plain.items():
        frame[name] = frame[name].fillna(pd.Series(value, index=frame.index)) if name in frame else value
    return frame


def plainly(found, vessels, items, classes):
    """Counts by kind, class and cell, and the mean age of each class and cell, by a plain groupby."""
    kind = dict(zip(vessels["vessel_id"], found.boats.kind, strict=True))
    day = items["installed_on"].to_numpy(dtype="datetime64[D]")
    days, _ = age_days(np.column_stack([day, day]), np.datetime64("2026-06-01"))
    frame = items.assign(
        kind=items["vessel_id"].map(kind),
        place=items["item_class"].map(classes.index),
        cell=cells_of_ages(days),
        days=days,
        quantity=items["quantity"].fillna(1),
    )
    number = np.zeros((len(found.boats.kinds.boats), len(classes), ALL_CELLS))
    for key, count in frame.groupby(["kind", "place", "cell"])["quantity"].sum().items():
        number[key] = count
    age = np.zeros(number.shape[1:])
    for key, mean in frame[frame["cell"] != UNKNOWN].groupby(["place", "cell"])["days"].mean().items():
        age[key] = mean
    return number, age


@pytest.mark.parametrize("group", [None, 37, [5, 200, 1]])
def test_counts_equal_a_plain_groupby_in_any_order_and_however_cut(
    counted, book, opened, write_tables, group
):
    vessels, items = book(150)
    items = items.sample(frac=1, random_state=2)
    shuffled = vessels.sample(frac=1, random_state=1)
    found = counted(shuffled, items, group=group)
    assert found.parts == len(items)
    classes = opened(write_tables(vessels)).bounds.item_classes
    number, age = plainly(found, shuffled, items, classes)
    np.testing.assert_array_equal(found.number, number)
    np.testing.assert_allclose(found.age, age, rtol=1e-12)
    assert found.listed.all()


def test_however_the_tables_are_cut_all_is_the_same_to_the_last_bit(counted, book, agree):
    vessels, items = book(300, seed=4)
    whole = counted(vessels, items)
    for group in (1000, 45, [1, 250, 3]):
        agree(counted(vessels, items, group=group), whole)


def test_windows_give_an_age_where_they_are_narrow(counted):
    items = parts(
        {"installed_on": "2020"},
        {"installed_after": "2020-01-01", "installed_by": "2020-12-31"},
        {"installed_after": "2019"},
        {"installed_on": "2020", "installed_by": "2020-03"},
        {},
    )
    number = counted(BOATS, items).number.sum(axis=(0, 1))
    # Five and a half to six years, six to six and a half, and nobody can tell.
    assert {cell: number[cell] for cell in np.flatnonzero(number)} == {11: 2, 12: 1, UNKNOWN: 2}


def test_later_parts_are_left_out_and_said(write_tables):
    items = parts(
        {"installed_on": "2026-03-01"}, {"installed_on": "2020-03-01"}, {"installed_on": "2026-05-01"}
    )
    day, today = datetime.date(2026, 1, 1), datetime.date(2026, 6, 1)
    schedule = open_schedule(write_tables(BOATS, items), as_of=day, today=today)
    found = read_schedule(schedule, one_after_another, lambda *_: None)
    assert (found.later, int(found.number.sum()), found.parts) == (2, 1, 3)
    assert "2 items were left out, installed after 2026-01-01." in found.notes


def test_parts_under_recall_are_counted(counted):
    items = parts({"recall": "R-17"}, {"recall": ""}, {"recall": "R-18", "vessel_id": "B2"}, {"recall": None})
    found = counted(BOATS, items)
    assert found.recalled == 2
    assert int(found.number.sum()) == 4


def test_ids_are_held_against_the_boats(counted):
    items = parts(
        {"item_id": ""},
        {"vessel_id": "B9"},
        {"vessel_id": ""},
        {"item_id": "X"},
        {"item_id": "X"},
        {"item_class": "bilge_pmp"},
        {"quantity": "-2"},
    )
    with pytest.raises(TableError) as caught:
        counted(BOATS, items)
    assert [str(each) for each in caught.value.problems] == [
        "items.parquet row 2: item_id must be given, got nothing",
        "items.parquet row 3: vessel_id must be in the vessels table, got B9",
        "items.parquet row 4: vessel_id must be given, got nothing",
        "items.parquet row 6: item_id must be given once, row 5 has it too, got X",
        *[str(each) for each in caught.value.problems[4:]],
    ]
    assert [each.row for each in caught.value.problems[4:]] == [7, 8]


def test_of_two_parts_with_one_id_both_boats_go(counted):
    boats = pd.concat([BOATS, BOATS.assign(vessel_id=["B3", "B4"])])
    items = parts({"item_id": "X"}, {"item_id": "X", "vessel_id": "B2"}, {"vessel_id": "B3"})
    found = counted(boats, items, how=read_sound_rows)
    assert (found.left_out.rows, len(found.listed), int(found.number.sum())) == (2, 2, 1)


@pytest.mark.parametrize("kind", ["int64", "float64", " text "])
def test_an_id_is_the_same_id_whatever_its_type_and_the_blanks_about_it(counted, kind):
    boats = BOATS.assign(vessel_id=[1, 2])
    ids = pd.Series([" 1", "2 "]) if kind == " text " else pd.Series([1, 2]).astype(kind)
    found = counted(boats, parts({}, {}).assign(vessel_id=ids))
    assert found.listed.tolist() == [True, True]


def test_rows_without_a_filled_cell_are_no_rows(counted):
    items = parts({}, {}).astype(object)
    items.loc[len(items)] = None
    found = counted(BOATS, items)
    assert found.parts == 2
    half = items.assign(material=[None, None, "rubber"])
    with pytest.raises(TableError, match="row 4: item_id must be given"):
        counted(BOATS, half)


def test_a_number_of_parts_that_cannot_be_is_refused_and_not_wrapped_round(counted):
    items = parts(*({"quantity": 100_000},) * 21_475)
    for group in (None, 8_000):
        with pytest.raises(TableError, match=r"quantity must add up to no more than 2,147,483,647"):
            counted(BOATS, items, group=group)
