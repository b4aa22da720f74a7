"""Loading a fleet: what comes out of the door."""

import dataclasses
import datetime

import pandas as pd
import pytest

from riskmodel.errors import ParameterError, TableError
from riskmodel.fleet import Fleet, check_fleet, load_fleet


def test_a_fleet_holds_its_three_tables(load, plain):
    fleet = load(**plain)
    assert isinstance(fleet, Fleet)
    assert list(fleet.vessels["vessel_id"]) == ["Wren", "Plover"]
    assert list(fleet.items["item_class"]) == ["bellows_drive", "shaft_packing"]
    assert list(fleet.records["event"]) == ["inspected", "hauled"]


def test_a_clean_fleet_has_no_problems(problems, plain):
    assert problems(**plain) == []


def test_every_column_stands_whether_given_or_not(load):
    fleet = load()
    assert fleet.vessels["home_port"].tolist() == ["", ""]
    assert fleet.vessels["deductible"].isna().all()
    assert fleet.vessels["records_from"].isna().all()
    assert {"bore_mm", "recall", "installed_after", "made_by"} <= set(fleet.items.columns)
    assert {"date", "date_by", "finding", "note"} <= set(fleet.records.columns)


def test_columns_keep_their_types_in_empty_and_full_tables(load, plain):
    empty, full = load(), load(**plain)
    for name in ("vessels", "items", "records"):
        one, other = getattr(empty, name), getattr(full, name)
        assert one.dtypes.to_dict() == other.dtypes.to_dict()
    assert full.vessels["shore_power"].dtype == bool
    assert full.items["installed_after"].dtype == "datetime64[ns]"
    assert full.vessels["value"].dtype == "float64"
    assert full.items["source_row"].dtype == "int64"


def test_rows_are_numbered_as_the_spreadsheet_numbers_them(load, plain):
    fleet = load(**{**plain, "items": plain["items"] + "\n,,,\nW2,Wren,bilge_pump,2020\n"})
    assert fleet.items["source_row"].tolist() == [2, 3, 6]
    assert fleet.items.index.tolist() == [0, 1, 2]


def test_a_row_number_counts_a_cell_of_several_lines_once(load, plain):
    records = 'item_id,date,event,note\nW1,2018-05-01,inspected,"two\nlines"\nW1,2019-05-01,inspected,\n'
    fleet = load(**{**plain, "records": records})
    assert fleet.records["source_row"].tolist() == [2, 3]
    # A cell becomes one line on the way in, so that no text of it stands as a line of its own on a page.
    assert fleet.records["note"][0] == "two lines"


def test_a_boat_called_na_or_none_is_a_boat(load):
    fleet = load(vessels="vessel_id,name,propulsion,value\nNA,None,outboard,9000\nnull,nan,outboard,9000\n")
    assert fleet.vessels["vessel_id"].tolist() == ["NA", "null"]
    assert fleet.vessels["name"].tolist() == ["None", "nan"]


def test_ids_keep_their_leading_noughts(load):
    fleet = load(
        vessels="vessel_id,propulsion,value\n007,outboard,9000\n",
        items="item_id,vessel_id,item_class\n01,007,bilge_pump\n",
    )
    assert fleet.items[["item_id", "vessel_id"]].iloc[0].tolist() == ["01", "007"]


def test_a_record_of_an_item_gets_the_boat_the_item_is_on(load, plain):
    fleet = load(**plain)
    assert fleet.records["vessel_id"].tolist() == ["Wren", "Plover"]
    assert fleet.given["records"]["vessel_id"].tolist() == [False, True]


def test_without_items_the_notes_say_what_is_assumed(load):
    fleet = load()
    assert fleet.items.empty
    assert any("typical outfit" in note for note in fleet.notes)
    assert any("No records table" in note for note in fleet.notes)


def test_an_empty_records_table_is_fine(load, plain):
    fleet = load(**{**plain, "records": "item_id,date,event\n"})
    assert fleet.records.empty
    assert not any("records" in note for note in fleet.notes)


def test_as_of_given_wins_over_settings_and_settings_over_today(load, today):
    settings = 'as_of = "2025-03-01"\n'
    assert (load().as_of, load().as_of_from) == (today, "today")
    fleet = load(settings=settings)
    assert (fleet.as_of, fleet.as_of_from) == (datetime.date(2025, 3, 1), "settings.toml")
    fleet = load(settings=settings, as_of=datetime.date(2024, 1, 1))
    assert (fleet.as_of, fleet.as_of_from) == (datetime.date(2024, 1, 1), "given")


def test_the_source_is_the_folder_name(load):
    assert load().source == "boats"


def test_own_columns_are_named_and_kept_out(load):
    fleet = load(vessels="vessel_id,propulsion,value,paint,home_prot\nA,outboard,9000,red,Sandhaven\n")
    assert "paint" not in fleet.vessels
    assert any("paint" in note and "did you mean home_port" in note for note in fleet.notes)


def test_heads_are_read_without_regard_to_capitals_and_spaces(load):
    fleet = load(vessels="Vessel ID, Propulsion ,VALUE\nA,outboard,9000\n")
    assert fleet.vessels["vessel_id"].tolist() == ["A"]


def test_loading_twice_gives_the_same(load, plain):
    one, other = load(**plain), load(**plain)
    for name in ("vessels", "items", "records", "defaulted"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name))


def test_a_fleet_cannot_be_changed(load):
    with pytest.raises(dataclasses.FrozenInstanceError, match=r"as_of"):
        load().as_of = datetime.date(2020, 1, 1)


def test_all_problems_of_all_tables_come_at_once(write, today):
    folder = write(
        vessels="vessel_id,propulsion,value\nA,rowed,-5\n",
        items="item_id,vessel_id,item_class\nI,B,bellows_driv\n",
        records="item_id,date,event\nJ,soon,exploded\n",
    )
    with pytest.raises(TableError, match=r"vessels.csv row 2: propulsion must be a known word") as caught:
        load_fleet(folder, today=today)
    places = [(problem.file, problem.column) for problem in caught.value.problems]
    assert places == [
        ("vessels.csv", "propulsion"),
        ("vessels.csv", "value"),
        ("items.csv", "item_class"),
        ("items.csv", "vessel_id"),
        ("records.csv", "date"),
        ("records.csv", "event"),
        ("records.csv", "item_id"),
    ]
    assert list(caught.value.problems) == check_fleet(folder, today=today)


def test_problems_stand_in_the_order_of_rows(problems):
    vessels = "vessel_id,propulsion,value\nA,outboard,x\nB,rowed,1\nC,outboard,-1\n"
    assert [message.split(":")[0] for message in problems(vessels=vessels)] == [
        "vessels.csv row 2",
        "vessels.csv row 3",
        "vessels.csv row 4",
    ]


def test_a_vessels_table_without_boats_is_refused(problems):
    assert problems(vessels="vessel_id,propulsion,value\n") == [
        "vessels.csv: must hold at least one boat, got none"
    ]


@pytest.mark.parametrize("name", ["as_of", "today"])
@pytest.mark.parametrize("day", ["2024-01-01", datetime.datetime(2024, 1, 1, 8), 2024])
def test_a_day_must_be_a_date_without_a_time(write, name, day):
    with pytest.raises(ParameterError, match=f"{name} must be a datetime.date, got "):
        load_fleet(write(), **{name: day})
