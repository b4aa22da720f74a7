"""Broken rows of a schedule: refused by number as the fleet's door refuses them, or left out as whole boats."""

import datetime
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError, TableError
from riskmodel.exposure.schedule import columns
from riskmodel.exposure.schedule.part_ids import Lookup
from riskmodel.exposure.schedule.parts import count_parts
from riskmodel.exposure.schedule.reading import read_schedule, read_sound_rows
from riskmodel.exposure.schedule.running import one_after_another
from riskmodel.exposure.schedule.stretches import Stretch
from riskmodel.fleet import check_fleet, load_fleet_without_bad

TODAY = datetime.date(2026, 6, 1)
# What may be wrong with a boat and with a part: the cells that make it so.
OF_BOATS = [
    {"value": "much"},
    {"value": "0"},
    {"propulsion": "sterndrve"},
    {"season_start": "04-01"},
    {"inception": "2026-03-01", "expiry": "2026-02-01"},
    {"lay_up_to": "03-31"},
    {"built_year": "2030"},
    {"vessel_id": ""},
    {"vessel_id": "B7"},
]
OF_PARTS = [
    {"item_class": "bilge_pmp"},
    {"quantity": "0"},
    {"quantity": "1.5"},
    {"installed_on": "1950"},
    {"installed_on": "03/04/2020"},
    {"installed_on": "2027-01-01"},
    {"installed_on": None, "installed_after": "2020", "installed_by": "2019"},
    {"vessel_id": "nobody's"},
    {"vessel_id": ""},
    {"item_id": ""},
]


def spoilt(frame, faults, share, seed):
    """The frame as text with one row in so many broken, each in one of the ways; and the places of these."""
    frame = (
        frame.astype(object).where(frame.notna(), None).map(lambda cell: None if cell is None else str(cell))
    )
    for name in sorted({name for fault in faults for name in fault} - set(frame)):
        frame[name] = None
    places = np.random.default_rng(seed).choice(
        np.arange(10, len(frame)), max(int(share * len(frame)), len(faults)), replace=False
    )
    for number, place in enumerate(places):
        for name, cell in faults[number % len(faults)].items():
            frame.loc[place, name] = cell
    return frame, places


@pytest.fixture(scope="module")
def broken(book):
    vessels, items = book(20_000)
    return spoilt(vessels, OF_BOATS, 0.01, 1)[0], spoilt(items, OF_PARTS, 0.0025, 2)[0]


@pytest.fixture(scope="module")
def folder(broken, write_tables):
    return write_tables(*broken, group=[3000, 5000, 60_000])


@pytest.fixture(scope="module")
def told(folder):
    """What the fleet's door says of the same files, where boats are loaded one by one."""
    return check_fleet(folder, today=TODAY)


@pytest.fixture(scope="module")
def without(folder, opened):
    return read_sound_rows(opened(folder), one_after_another, lambda *_: None)


def test_every_broken_row_is_refused_as_the_fleets_door_refuses_it(folder, opened, told):
    with pytest.raises(TableError) as caught:
        read_schedule(opened(folder), one_after_another, lambda *_: None)
    assert len(told) > 300
    assert {each.rule for each in told} >= {
        "must be given",
        "must be given with season_start",
        "must be a whole number",
    }
    assert sorted(map(str, caught.value.problems)) == sorted(map(str, told))
    files = [each.file for each in caught.value.problems]
    assert files == sorted(files, reverse=True)
    for file in set(files):
        rows = [each.row for each in caught.value.problems if each.file == file]
        assert rows == sorted(rows)


def test_what_is_left_out_is_what_the_fleets_door_leaves_out(folder, without):
    fleet, left = load_fleet_without_bad(folder, today=TODAY)
    assert sorted(map(str, without.problems)) == sorted(map(str, left.problems))
    out = without.left_out
    assert (out.rows, out.unread, out.parts) == (left.boats, left.unread, left.rows["items"])
    assert out.value / 1000 == pytest.approx(left.value, rel=1e-12)
    assert without.homeless == left.homeless
    assert len(without.listed) == len(fleet.vessels)
    assert int(without.number.sum()) == int(fleet.items["quantity"].sum())
    assert without.boats.value.sum() / 1000 == pytest.approx(fleet.vessels["value"].sum(), rel=1e-12)


def test_the_rest_is_counted_as_if_the_others_had_never_been(folder, broken, without, counted, agree):
    fleet, _ = load_fleet_without_bad(folder, today=TODAY)
    vessels, items = broken
    vessels = vessels[np.isin(np.arange(len(vessels)) + 2, fleet.vessels["source_row"])]
    items = items[np.isin(np.arange(len(items)) + 2, fleet.items["source_row"])]
    agree(without, counted(vessels, items, group=4000))


def test_a_sound_schedule_is_the_same_either_way(book, counted, agree):
    tables = book(200)
    agree(counted(*tables, how=read_sound_rows), counted(*tables))


def test_an_id_that_stands_twice_far_apart_takes_both_boats(counted, book):
    vessels, _ = book(60)
    vessels.loc[50, "vessel_id"] = vessels.loc[58, "vessel_id"] = "B3"
    with pytest.raises(TableError) as caught:
        counted(vessels, group=9)
    assert [str(each) for each in caught.value.problems] == [
        "vessels.parquet row 52: vessel_id must be given once, row 5 has it too, got B3",
        "vessels.parquet row 60: vessel_id must be given once, row 5 has it too, got B3",
    ]
    found = counted(vessels, how=read_sound_rows, group=9)
    assert (found.left_out.rows, len(found.listed)) == (3, 57)


def test_what_is_wrong_with_a_table_as_a_whole_is_refused_either_way(counted, book):
    vessels, items = book(20)
    cases = [
        (
            vessels.rename(columns={"vessel_id": "boat"}),
            items,
            "vessels.parquet row 1: vessel_id must be a column",
        ),
        (vessels, items.drop(columns="item_class"), "items.parquet row 1: item_class must be a column"),
        (
            vessels,
            items.rename(columns={"vessel_id": "vesel_id"}),
            r"vessel_id must be a column \(nearest: vesel_id\)",
        ),
        (vessels.assign(value="12,5"), items, "must use the decimal mark declared"),
        (vessels.iloc[:0], items, "must hold at least one boat"),
        (vessels.assign(value="much"), items, "row 21: value must be a number"),
    ]
    for boats, parts, message in cases:
        for how in (read_schedule, read_sound_rows):
            with pytest.raises(TableError, match=message) as caught:
                counted(boats, parts, how=how, group=6)
            assert len([each for each in caught.value.problems if each.row < 2]) <= 1


def test_a_decimal_comma_is_one_mistake(counted, book):
    vessels, _ = book(20)
    with pytest.raises(TableError) as caught:
        counted(vessels.assign(value="12,5"), group=4)
    assert len(caught.value.problems) == 1


def test_a_schedule_without_a_list_of_parts_says_so(counted, book):
    found = counted(book(30)[0])
    assert not found.listed.any()
    assert found.number.sum() == 0
    assert found.notes[0].startswith("No items table")


def test_yes_no_and_not_said_are_three_kinds(counted):
    plain = {"propulsion": "outboard", "value": 9000}
    vessels = pd.DataFrame(
        [{"vessel_id": f"B{n}", "alarm_telemetry": word, **plain} for n, word in enumerate(["yes", "no", ""])]
    )
    assert len(counted(vessels).boats.kinds.boats) == 3


def test_columns_that_are_not_used_are_named(counted, book):
    vessels, items = book(10)
    found = counted(vessels, items.assign(material="rubber", quantiy=1).drop(columns="quantity"))
    assert (
        "items.parquet: columns not used at this size: material, quantiy (nearest: quantity)." in found.notes
    )


def test_boats_that_differ_in_too_many_words_are_refused(counted, book, monkeypatch):
    monkeypatch.setattr(columns, "MOST_KINDS", 3)
    vessels = book(60)[0][["vessel_id", "propulsion", "value"]]
    assert len(counted(vessels).boats.kinds.boats) == 3
    seasons = vessels.assign(season_start="04-01", season_end=[f"10-{day % 30 + 1:02d}" for day in range(60)])
    with pytest.raises(TableError, match=r"season_end must tell boats apart in few words: at most 30 kinds"):
        counted(seasons)


def test_a_worker_that_does_not_see_the_folder_says_so(book, write_tables, opened, tmp_path):
    schedule = opened(write_tables(*book(10)))
    with pytest.raises(ParameterError, match=r"every worker must see .*elsewhere: name a work folder"):
        count_parts(schedule, Lookup(tmp_path / "elsewhere"), Stretch(0, 0, 40, 2))


def test_nothing_is_left_behind(book, write_tables, opened, tmp_path):
    def stop(what, done, of):
        if what == "parts":
            raise KeyboardInterrupt

    schedule = replace(opened(write_tables(*book(40), group=20)), work_folder=tmp_path)
    with pytest.raises(KeyboardInterrupt):
        read_schedule(schedule, one_after_another, stop)
    assert list(tmp_path.iterdir()) == []
