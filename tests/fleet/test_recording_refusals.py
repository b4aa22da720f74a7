"""What adding a record refuses, in which words, and that nothing is written then."""

import datetime
import os

import pytest

from riskmodel.errors import ParameterError, TableError
from riskmodel.fleet import add_record, check_fleet, preview_record

LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected", "finding": "sound"}


def bytes_of(folder):
    return (folder / "records.csv").read_bytes()


@pytest.mark.parametrize(
    "record",
    [
        {},
        {"item_id": "W9"},
        {"vessel_id": "Heron", "event": "hauled"},
        {"item_id": "W1", "event": "explod"},
        {"item_id": "W1", "event": "hauled"},
        {"vessel_id": "Wren", "event": "failed"},
        {"item_id": "W1", "vessel_id": "Plover", "event": "tested"},
        {"item_id": "W1", "event": "failed", "finding": "sound"},
        {"item_id": "W1", "event": "tested", "date": "2031-01-01"},
        {"item_id": "W1", "event": "tested", "date": "03/04/2020"},
        {"item_id": "W1", "event": "tested", "hours": "12,5"},
        {"item_id": "W1", "event": "tested", "hours": "-1"},
        {"item_id": "W1", "event": "tested", "hours": "12", "date": "2020-01-01"},
        {"item_id": "W1", "event": "tested", "hours": "500", "date": "2017-01-01"},
        {"item_id": "W1", "event": "tested", "finding": "fine", "thoroughness": "x", "reason": "y"},
    ],
)
def test_what_check_would_refuse_is_refused_in_its_words(write, plain, today, record):
    names = ["item_id", "vessel_id", "date", "event", "hours", "finding", "thoroughness", "reason"]
    records = ",".join(names) + "\nW1,,2018-05-01,inspected,120,,,\n"
    cells = {"date": "2026-06-01", **record}
    line = ",".join(f'"{cells.get(name, "")}"' for name in names) + "\n"
    expected = check_fleet(write(**plain | {"records": records + line}), today=today)
    folder = write(**plain | {"records": records})
    with pytest.raises(TableError, match=r"^records.csv row [23]: \w+ must") as caught:
        add_record(folder, record, today=today)
    assert list(caught.value.problems) == expected
    assert bytes_of(folder) == records.encode()
    assert sorted(path.name for path in folder.iterdir()) == [
        ".records.lock",
        "items.csv",
        "records.csv",
        "vessels.csv",
    ]


def test_a_fleet_that_was_broken_before_is_refused_with_its_own_problems(write, plain, today):
    folder = write(**plain | {"vessels": plain["vessels"].replace("30000", "-1")})
    old = bytes_of(folder)
    with pytest.raises(
        TableError, match=r"^boats: must be in order before a record is added, got 1 problem\nvessels"
    ):
        add_record(folder, LOOK, today=today)
    assert bytes_of(folder) == old


def test_a_fleet_that_cannot_be_read_is_refused_with_its_own_problems(write, plain, today):
    folder = write(**plain | {"records": "item_id;date;event\n"})
    with pytest.raises(
        TableError, match=r"must be in order .*\nrecords.csv row 1: must be separated as declared"
    ):
        add_record(folder, LOOK, today=today)


def test_a_record_that_puts_the_fleet_in_order_is_taken(write, plain, today):
    records = "item_id,vessel_id,date,event,hours\n,Wren,2018,hours_read,900\n,Wren,2020,hours_read,10\n"
    folder = write(**plain | {"records": records})
    assert check_fleet(folder, today=today) != []
    add_record(folder, {"vessel_id": "Wren", "date": "2019-05-01", "event": "meter_changed"}, today=today)
    assert check_fleet(folder, today=today) == []


def test_an_unknown_column_is_refused_with_the_nearest_known_one(write, plain, today):
    with pytest.raises(
        ParameterError, match=r"must name columns of the records table, got findng \(nearest: finding\)"
    ):
        add_record(write(**plain), LOOK | {"findng": "sound"}, today=today)


@pytest.mark.parametrize("records", [None, "item_id,date,event\n"])
def test_an_unknown_column_is_refused_of_a_new_table_too(write, plain, today, records):
    with pytest.raises(ParameterError, match=r"got who"):
        add_record(write(**plain | {"records": records}), LOOK | {"who": "Jo"}, today=today)


def test_what_is_no_text_is_refused(write, plain, today):
    with pytest.raises(ParameterError, match=r"a record must hold texts, got 'hours': 12"):
        add_record(write(**plain), LOOK | {"hours": 12}, today=today)


@pytest.mark.parametrize("note", ["a\x00b", "\x1b[31m", "\udcff"])
def test_text_that_no_table_can_hold_is_refused(write, plain, today, note):
    with pytest.raises(TableError, match=r"note must be plain text without control characters"):
        add_record(write(**plain), LOOK | {"note": note}, today=today)


def test_today_must_be_a_date(write, plain):
    with pytest.raises(ParameterError, match=r"today must be a datetime.date, got"):
        add_record(write(**plain), LOOK, today=datetime.datetime(2026, 6, 1, 8))


def test_a_path_that_leads_to_no_fleet_is_refused(tmp_path):
    with pytest.raises(
        TableError, match=r"must be a folder of tables or an .xlsx workbook, got no such file"
    ):
        add_record(tmp_path / "nowhere", LOOK)


def test_a_table_that_is_open_in_a_spreadsheet_is_refused(write, plain, today):
    folder = write(**plain)
    (folder / ".~lock.records.csv#").write_text("somebody")
    with pytest.raises(TableError, match=r"records.csv: must be closed in the spreadsheet program first"):
        add_record(folder, LOOK, today=today)


def test_a_protected_table_is_not_written_over(write, plain, today, monkeypatch):
    folder = write(**plain)
    monkeypatch.setattr(os, "access", lambda path, mode: mode != os.W_OK)
    with pytest.raises(PermissionError, match=r"write-protected"):
        add_record(folder, LOOK, today=today)


def test_a_preview_refuses_what_adding_refuses(write, plain, today):
    with pytest.raises(TableError, match=r"records.csv row 4: event must be given"):
        preview_record(write(**plain), {"item_id": "W1"}, today=today)
