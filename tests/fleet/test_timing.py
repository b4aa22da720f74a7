"""A fleet seen from an earlier day."""

import datetime

import pytest

DAY = datetime.date(2018, 7, 1)
ITEMS = "item_id,vessel_id,item_class,installed_on,made_on,batch,installed_hours\n"


def test_later_records_are_left_out_and_counted(load, plain):
    fleet = load(**plain, as_of=DAY)
    assert fleet.records["event"].tolist() == ["inspected"]
    assert "1 record was left out, dated after 2018-07-01." in fleet.notes


def test_later_items_are_left_out_and_counted(load):
    items = (
        ITEMS + "".join(f"I{n},Wren,bilge_pump,2019,,,\n" for n in range(3)) + "J,Wren,bilge_pump,2017,,,\n"
    )
    fleet = load(items=items, as_of=DAY)
    assert fleet.items["item_id"].tolist() == ["J"]
    assert fleet.items.index.tolist() == fleet.given["items"].index.tolist() == [0]
    assert "3 items were left out, installed after 2018-07-01." in fleet.notes


def test_windows_end_where_the_fleet_is_seen_from(load):
    items = ITEMS + "I,Wren,bilge_pump,2018,2018,,\n"
    fleet = load(items=items, records="item_id,date,event\nI,2018,inspected\n", as_of=DAY)
    ends = [fleet.items["installed_by"][0], fleet.items["made_by"][0], fleet.records["date_by"][0]]
    assert [end.date() for end in ends] == [DAY] * 3


def test_an_item_with_earlier_records_was_there_with_another_part_in_it(load):
    items = ITEMS + "I,Wren,bilge_pump,2020-05-01,2019,L7,800\n"
    records = "item_id,date,event\nI,2017-05-01,inspected\nI,2020-05-01,replaced\n"
    fleet = load(items=items, records=records, as_of=DAY)
    assert fleet.items["item_id"].tolist() == ["I"]
    assert fleet.items[["installed_after", "installed_by", "made_after", "made_by"]].isna().all(axis=None)
    assert fleet.items["batch"][0] == ""
    assert fleet.items["installed_hours"].isna().all()
    assert (
        not fleet.given["items"].loc[0, ["installed_after", "installed_by", "batch", "installed_hours"]].any()
    )
    assert any(note.startswith("1 item was taken as of unknown age") for note in fleet.notes)
    assert len(load(items=items, records=records).records) == 2


def test_records_that_begin_later_begin_on_the_day(load):
    rows = ["A,outboard,1,2020-01-01", "B,outboard,1,2015-01-01", "C,outboard,1,"]
    vessels = "\n".join(["vessel_id,propulsion,value,records_from", *rows])
    days = load(vessels=vessels, as_of=DAY).vessels["records_from"]
    assert [day.date() for day in days[:2]] == [DAY, datetime.date(2015, 1, 1)]
    assert days.isna()[2]


def test_what_is_left_out_is_still_checked(problems, plain):
    records = "item_id,date,event\nW1,2019-01-01,exploded\n"
    assert len(problems(**{**plain, "records": records}, as_of=DAY)) == 1


@pytest.mark.parametrize("year", range(2014, 2027))
def test_nothing_of_a_later_day_reaches_the_frames(load, plain, year):
    fleet = load(**plain, as_of=datetime.date(year, 3, 1))
    for frame in (fleet.vessels, fleet.items, fleet.records):
        latest = frame.select_dtypes("datetime").max()
        assert not (latest > str(fleet.as_of)).any()
