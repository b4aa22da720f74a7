"""Dates that follow each other as they can."""

import datetime

import pytest

BUILT = "vessel_id,propulsion,value,built_year\nWren,sterndrive,30000,2010\n"


def item(installed_on="", after="", by=""):
    return (
        "item_id,vessel_id,item_class,installed_on,installed_after,installed_by\n"
        f"I,Wren,bilge_pump,{installed_on},{after},{by}\n"
    )


def records(*rows):
    return "\n".join(["item_id,date,event", *rows]) + "\n"


@pytest.mark.parametrize("installed", ["2008", "2008-12", "2008-12-31"])
def test_a_part_older_than_its_boat_is_refused(problems, installed):
    found = problems(vessels=BUILT, items=item(installed))
    assert found == [
        "items.csv row 2: installed_by must not be before 2009, the year before the boat was built, "
        "got 2008-12-31"
    ]


@pytest.mark.parametrize("installed", ["2009", "2009-01-01", "2010", "2012", ""])
def test_a_part_as_old_as_its_boat_is_fine(problems, installed):
    assert problems(vessels=BUILT, items=item(installed)) == []


def test_a_part_on_a_boat_of_unknown_age_is_fine(problems):
    assert problems(items=item("1955")) == []


def test_a_window_the_wrong_way_round_is_refused(problems):
    assert problems(items=item(after="2019", by="2017")) == [
        "items.csv row 2: installed_after must not be after 2017-12-31, "
        "the last day it can have been installed, got 2019-01-01"
    ]


def test_a_date_outside_its_own_window_is_refused(problems):
    assert len(problems(items=item("2015", after="2016", by="2018"))) == 1


def test_a_window_narrows_a_date(load):
    fleet = load(items=item("2015", after="2015-06", by=""))
    assert str(fleet.items["installed_after"][0].date()) == "2015-06-01"
    assert str(fleet.items["installed_by"][0].date()) == "2015-12-31"


def test_half_a_window_stays_open(load):
    fleet = load(items=item(after="2015"))
    assert fleet.items["installed_by"].isna().all()
    assert fleet.given["items"].loc[0, ["installed_after", "installed_by"]].tolist() == [True, False]


@pytest.mark.parametrize("event", ["inspected", "adjusted", "tested", "failed"])
def test_a_part_is_not_written_about_before_it_is_there(problems, event):
    found = problems(items=item("2018-05-01"), records=records(f"I,2017-06-01,{event}"))
    assert found == [
        "records.csv row 2: date must not be before 2018-05-01, when the item was installed, got 2017-06-01"
    ]


@pytest.mark.parametrize("event", ["installed", "replaced"])
def test_the_installation_itself_may_be_dated_before_the_items_row(problems, event):
    assert problems(items=item("2018-05-01"), records=records(f"I,2018-04-28,{event}")) == []


def test_a_record_that_may_lie_after_the_installation_is_fine(problems):
    assert (
        problems(items=item("2018-05-01"), records=records("I,2018-05,inspected", "I,2018,inspected")) == []
    )
    assert problems(items=item("2018"), records=records("I,2018-02-01,inspected")) == []


def test_records_of_the_predecessor_stand_where_a_renewal_explains_them(problems):
    history = records("I,2015-05-01,inspected", "I,2018-05-01,replaced", "I,2019-05-01,inspected")
    assert problems(items=item("2018-05-01"), records=history) == []


def test_a_later_renewal_explains_nothing_before_the_installation(problems):
    history = records("I,2015-05-01,inspected", "I,2020-05-01,replaced")
    assert len(problems(items=item("2018-05-01"), records=history)) == 1


@pytest.mark.parametrize(
    ("table", "text"),
    [
        ("items", "item_id,vessel_id,item_class,installed_on\nI,Wren,bilge_pump,2026-06-02\n"),
        ("items", "item_id,vessel_id,item_class,installed_by\nI,Wren,bilge_pump,2027\n"),
        ("items", "item_id,vessel_id,item_class,made_on\nI,Wren,bilge_pump,2026-07\n"),
        ("records", "vessel_id,date,event\nWren,2031-01-01,hauled\n"),
        ("vessels", "vessel_id,propulsion,value,records_from\nWren,outboard,1,2026-06-02\n"),
    ],
)
def test_nothing_is_written_of_the_future(problems, table, text):
    found = problems(**{table: text})
    assert len(found) == 1
    assert "must not be after 2026-06-01, got 20" in found[0]


def test_today_and_this_year_are_not_the_future(load):
    fleet = load(items=item("2026"), records="vessel_id,date,event\nWren,2026-06-01,hauled\n")
    assert str(fleet.items["installed_by"][0].date()) == "2026-06-01"


def test_a_day_ahead_of_today_may_be_asked_about(load):
    fleet = load(as_of=datetime.date(2027, 1, 1), items=item("2026-12-01"))
    assert len(fleet.items) == 1
