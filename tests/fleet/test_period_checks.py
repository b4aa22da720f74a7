"""The periods table on disk: every form of it, its rules, and that nothing else writes to it."""

import datetime

import pandas as pd
import pytest
import xlsxwriter

from riskmodel.errors import TableError
from riskmodel.fleet import add_record, check_fleet, load_fleet, preview_record

HEAD = "vessel_id,from,to,state,visited_every_days,shore_power\n"
BOTH = f"{HEAD}Wren,10-21,04-14,ashore,30,no\nPlover,06-01,06-30,afloat_unattended,,\n"
LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected"}


def table(*lines):
    return HEAD + "".join(f"{line}\n" for line in lines)


def notes_on_days(fleet):
    return [note for note in fleet.notes if "outside all periods" in note]


def test_a_fleet_holds_its_periods(load):
    periods = load(periods=BOTH).periods
    assert periods["vessel_id"].tolist() == ["Wren", "Plover"]
    assert periods[["from", "to"]].to_numpy().tolist() == [["10-21", "04-14"], ["06-01", "06-30"]]
    assert periods["state"].tolist() == ["ashore", "afloat_unattended"]
    assert periods["source_row"].tolist() == [2, 3]


def test_what_a_period_leaves_open_stays_open(load):
    fleet = load(periods=BOTH)
    assert fleet.periods["visited_every_days"].isna().tolist() == [False, True]
    assert fleet.periods["shore_power"].tolist() == ["no", ""]
    assert fleet.given["periods"]["shore_power"].tolist() == [True, False]
    assert "periods" not in set(fleet.defaulted["table"])


def test_without_periods_the_table_is_empty_and_has_its_columns(load):
    none, some = load(), load(periods=BOTH)
    assert none.periods.empty
    assert none.given["periods"].empty
    assert none.periods.dtypes.to_dict() == some.periods.dtypes.to_dict()
    assert not any("period" in note for note in none.notes)


def test_periods_hold_in_every_year_whenever_the_fleet_is_seen(load):
    early = load(as_of=datetime.date(1990, 1, 1), periods=BOTH)
    pd.testing.assert_frame_equal(early.periods, load(periods=BOTH).periods)


def test_a_semicolon_table_is_read(load):
    fleet = load(
        vessels="vessel_id;propulsion;value\nWren;sterndrive;1\n",
        periods="Vessel ID;From;To;State;Visited every days\nWren;10-21;04-14;Laid up afloat;3,5\n",
        settings='delimiter = ";"\ndecimal = ","\n',
    )
    assert fleet.periods["state"].tolist() == ["laid_up_afloat"]
    assert fleet.periods["visited_every_days"].tolist() == [3.5]


def test_a_parquet_table_is_read(write, today):
    folder = write()
    pd.DataFrame(
        {
            "vessel_id": ["Wren"],
            "from": ["10-21"],
            "to": ["04-14"],
            "state": ["ashore"],
            "shore_power": [False],
        }
    ).to_parquet(folder / "periods.parquet")
    fleet = load_fleet(folder, today=today)
    assert fleet.periods["to"].tolist() == ["04-14"]
    assert fleet.periods["shore_power"].tolist() == ["no"]


def test_a_sheet_of_a_workbook_is_read_even_where_days_became_dates(tmp_path, today):
    path = book(tmp_path, [["Wren", datetime.date(2026, 10, 21), "04-14", "on trailer", True]])
    periods = load_fleet(path, today=today).periods
    assert periods[["from", "to"]].to_numpy().tolist() == [["10-21", "04-14"]]
    assert periods["state"].tolist() == ["on_trailer"]
    assert periods["shore_power"].tolist() == ["yes"]


def book(tmp_path, rows):
    path = tmp_path / "boats.xlsx"
    workbook = xlsxwriter.Workbook(str(path), {"default_date_format": "yyyy-mm-dd"})
    sheets = {
        "vessels": [["vessel_id", "propulsion", "value"], ["Wren", "sterndrive", 30000]],
        "items": [["item_id", "vessel_id", "item_class"], ["W1", "Wren", "bellows_drive"]],
        "Periods": [["vessel_id", "from", "to", "state", "shore_power"], *rows],
    }
    for name, cells in sheets.items():
        page = workbook.add_worksheet(name)
        for place, row in enumerate(cells):
            page.write_row(place, 0, row)
    workbook.close()
    return path


def test_periods_alone_are_no_fleet(tmp_path, today):
    (tmp_path / "periods.csv").write_text(BOTH)
    found = [str(problem) for problem in check_fleet(tmp_path, today=today)]
    assert found == [f"{tmp_path.name}: must hold a vessels table, got periods"]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (",10-21,04-14,ashore,,", "vessel_id must be given, got nothing"),
        ("Tern,10-21,04-14,ashore,,", "vessel_id must be in the vessels table, got Tern"),
        ("Wren,,04-14,ashore,,", "from must be given, got nothing"),
        ("Wren,10-21,,ashore,,", "to must be given, got nothing"),
        ("Wren,10-21,04-31,ashore,,", "to must be a month and day such as 04-15, got 04-31"),
        ("Wren,21/10,04-14,ashore,,", "from must be a month and day such as 04-15, got 21/10"),
        ("Wren,10-21,04-14,,,", "state must be given, got nothing"),
        ("Wren,10-21,04-14,ashor,,", "state must be a known word (nearest: ashore), got ashor"),
        ("Wren,10-21,04-14,ashore,0,", "visited_every_days must be above 0, got 0"),
        ("Wren,10-21,04-14,ashore,,perhaps", "shore_power must be yes or no, got perhaps"),
    ],
)
def test_a_period_that_breaks_a_rule_is_refused(problems, line, message):
    assert problems(periods=table(line)) == [f"periods.csv row 2: {message}"]


@pytest.mark.parametrize("column", ["vessel_id", "from", "to", "state"])
def test_a_required_column_is_missed(problems, column):
    columns = {"vessel_id": "Wren", "from": "10-21", "to": "04-14", "state": "ashore"}
    del columns[column]
    found = problems(periods=f"{','.join(columns)}\n{','.join(columns.values())}\n")
    assert found == [f"periods.csv row 1: {column} must be a column, got no such column"]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("06-01,06-30", "06-30,07-31"),
        ("06-01,06-30", "06-10,06-11"),
        ("06-10,06-11", "06-01,06-30"),
        ("06-01,06-01", "06-01,06-01"),
        ("10-21,04-14", "04-14,05-01"),
        ("10-21,04-14", "12-31,12-31"),
        ("10-21,04-14", "01-01,01-01"),
        ("10-21,04-14", "11-01,03-01"),
        ("01-01,12-31", "07-01,06-30"),
        ("02-29,02-29", "02-01,02-29"),
    ],
)
def test_periods_of_one_boat_that_share_a_day_are_refused_naming_both_rows(problems, one, other):
    mine, yours = (pair.replace(",", " to ") for pair in (one, other))
    found = problems(
        periods=table("Plover,01-01,12-31,ashore,,", f"Wren,{one},ashore,,", f"Wren,{other},in_use,,")
    )
    assert found == [
        f"periods.csv row 4: from must not overlap row 3 of the same boat ({mine}, both days in it), got {yours}"
    ]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("06-01,06-30", "07-01,05-31"),
        ("10-21,04-14", "04-15,10-20"),
        ("03-01,02-28", "02-29,02-29"),
        ("12-31,12-31", "01-01,01-01"),
    ],
)
def test_periods_that_meet_share_no_day(problems, one, other):
    assert problems(periods=table(f"Wren,{one},ashore,,", f"Wren,{other},in_use,,")) == []


def test_a_period_within_a_long_one_is_found_past_others(problems):
    found = problems(
        periods=table("Wren,02-01,11-30,ashore,,", "Wren,03-01,03-02,in_use,,", "Wren,09-01,09-02,in_use,,")
    )
    assert [message.split(":")[0] for message in found] == ["periods.csv row 3", "periods.csv row 4"]
    assert all("row 2 of the same boat (02-01 to 11-30" in message for message in found)


def test_two_boats_may_share_days(problems):
    assert problems(periods=table("Wren,06-01,06-30,ashore,,", "Plover,06-01,06-30,ashore,,")) == []


def test_a_broken_day_is_one_problem_and_not_two(problems):
    found = problems(periods=table("Wren,06-01,06-31,ashore,,", "Wren,06-01,06-30,in_use,,"))
    assert found == ["periods.csv row 2: to must be a month and day such as 04-15, got 06-31"]


def test_an_unknown_boats_periods_must_not_overlap_either(problems):
    found = problems(periods=table("Tern,06-01,06-30,ashore,,", "Tern,06-30,07-01,ashore,,"))
    assert [message.split(" must")[0] for message in found] == [
        "periods.csv row 2: vessel_id",
        "periods.csv row 3: vessel_id",
        "periods.csv row 3: from",
    ]


def test_problems_of_the_periods_come_after_those_of_the_other_tables(problems, plain):
    found = problems(
        **plain | {"records": "item_id,date,event\nW1,soon,inspected\n"}, periods=table("Wren,x,04-14,,,")
    )
    assert [message.split(":")[0] for message in found] == [
        "records.csv row 2",
        "periods.csv row 2",
        "periods.csv row 2",
    ]


def test_days_outside_all_periods_are_noted(load):
    periods = table("Wren,10-21,04-14,ashore,,", "Plover,01-01,12-31,ashore,,")
    assert notes_on_days(load(periods=periods)) == [
        "periods.csv: 1 boat has days outside all periods; they count as in use."
    ]
    assert notes_on_days(load(periods=BOTH)) == [
        "periods.csv: 2 boats have days outside all periods; they count as in use."
    ]


@pytest.mark.parametrize("period", ["01-01,12-31", "04-15,04-14", "03-01,02-28"])
def test_a_whole_year_has_no_days_outside(load, period):
    assert notes_on_days(load(periods=table(f"Wren,{period},ashore,,"))) == []


def test_adding_a_record_leaves_the_periods_alone(write, plain, today):
    folder = write(**plain, periods=BOTH)
    before = (folder / "periods.csv").read_bytes()
    add_record(folder, LOOK, today=today)
    assert (folder / "periods.csv").read_bytes() == before
    assert len(load_fleet(folder, today=today).records) == 3


def test_adding_a_record_to_a_workbook_leaves_the_periods_alone(tmp_path, today):
    path = book(tmp_path, [["Wren", datetime.date(2026, 10, 21), "04-14", "ashore", True]])
    before = load_fleet(path, today=today).periods
    add_record(path, LOOK, today=today)
    after = load_fleet(path, today=today)
    pd.testing.assert_frame_equal(after.periods, before)
    assert len(after.records) == 1


def test_a_record_is_not_added_beside_periods_that_break_a_rule(write, plain, today):
    folder = write(**plain, periods=table("Tern,10-21,04-14,ashore,,"))
    with pytest.raises(TableError, match="must be in order before a record is added"):
        preview_record(folder, LOOK, today=today)
    with pytest.raises(TableError, match=r"periods.csv row 2: vessel_id must be in the vessels table"):
        add_record(folder, LOOK, today=today)
