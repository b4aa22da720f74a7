"""What fills the open cells, and the trace it leaves."""

import pytest

from riskmodel.errors import TableError
from riskmodel.fleet.defaults import FILLED, read_defaults
from riskmodel.fleet.schema import read_schema

HEAD = "table,column,propulsion,value,unit,source,status\n"


@pytest.fixture
def overlay(write):
    """Writes an organisation's own defaults beside the fleet and gives the settings that name them."""

    def written(*rows):
        folder = write() / "ours"
        folder.mkdir(exist_ok=True)
        (folder / "defaults.csv").write_text(HEAD + "".join(f"{row}\n" for row in rows))
        return 'trade = "ours"\n'

    return written


def test_an_open_cell_is_filled_and_a_given_one_kept(load):
    fleet = load(vessels="vessel_id,propulsion,value,water\nA,outboard,9000,fresh\nB,outboard,9000,\n")
    assert fleet.vessels["water"].tolist() == ["fresh", "salt"]
    assert fleet.given["vessels"]["water"].tolist() == [True, False]


def test_the_kind_of_propulsion_decides(load, overlay):
    settings = overlay(
        "vessels,battery_ah,any,50,Ah,ours,judgement", "vessels,battery_ah,sterndrive,70,Ah,ours,judgement"
    )
    vessels = "vessel_id,propulsion,value\nWren,sterndrive,1\n"
    assert load(vessels=vessels, settings=settings).vessels["battery_ah"][0] == 70


def test_the_row_for_any_boat_fills_what_no_kind_fills(load, overlay):
    settings = overlay(
        "vessels,downtime_days,any,9,days,ours,judgement",
        "vessels,downtime_days,outboard,4,days,ours,judgement",
    )
    fleet = load(settings=settings)
    assert fleet.vessels["downtime_days"].tolist() == [9, 9]


def test_an_items_default_goes_by_its_boat(load, overlay, plain):
    settings = overlay("items,depth_m,sail_shaft,0.4,m,ours,judgement")
    fleet = load(**plain, settings=settings)
    assert fleet.items["depth_m"].isna().tolist() == [True, False]
    assert fleet.items["depth_m"][1] == 0.4


def test_a_records_default_goes_by_the_boat_of_its_item(load, overlay, plain):
    settings = overlay("records,finding,sterndrive,unknown,,ours,judgement")
    assert load(**plain, settings=settings).records["finding"].tolist() == ["unknown", ""]


def test_the_trace_counts_every_cell_that_was_filled(load, plain):
    fleet = load(**plain)
    assert list(fleet.defaulted.columns) == ["table", "column", "value", "count", "source", "status"]
    counted = fleet.defaulted.groupby(["table", "column"])["count"].sum()
    for (table, column), count in counted.items():
        assert count == (~fleet.given[table][column]).sum()
    assert counted["items", "quantity"] == 2


def test_kinds_that_share_a_default_share_a_row_of_the_trace(load):
    vessels = "vessel_id,propulsion,value\nA,sail_shaft,1\nB,inboard_shaft,1\n"
    trace = load(vessels=vessels).defaulted
    fuel = trace[trace["column"] == "fuel"]
    assert fuel[["value", "count"]].to_numpy().tolist() == [["diesel", 2]]


def test_a_fleet_that_leaves_nothing_open_has_an_empty_trace(load, overlay):
    filled = {default.column for default in read_defaults() if default.table == "vessels"}
    values = {
        "fuel": "diesel",
        "length_m": "9",
        "water": "salt",
        "climate": "hot",
        "kept": "afloat",
        "core": "foam",
        "alarm_telemetry": "no",
        "shore_power": "no",
        "hulls": "1",
        "self_draining": "no",
        "covered": "no",
        "low_transom": "no",
    }
    row = ",".join(values.get(column, "5") for column in sorted(filled))
    fleet = load(vessels=f"vessel_id,propulsion,value,{','.join(sorted(filled))}\nA,outboard,9000,{row}\n")
    assert fleet.defaulted.empty
    assert list(fleet.defaulted.columns) == ["table", "column", "value", "count", "source", "status"]


def test_a_yes_or_no_stays_one_after_filling(load):
    fleet = load(vessels="vessel_id,propulsion,value,shore_power\nA,outboard,9000,no\nB,outboard,9000,\n")
    assert fleet.vessels["shore_power"].dtype == bool
    assert not fleet.vessels["shore_power"][0]


def test_every_shipped_default_is_a_value_its_column_can_hold():
    defaults = read_defaults()
    assert len(defaults) > 20
    assert all(default.source and default.status for default in defaults)


def test_every_boat_has_a_default_for_what_the_arithmetic_needs():
    kinds = next(field.enum for field in read_schema("vessels").fields if field.name == "propulsion")
    known = {
        (default.column, default.propulsion) for default in read_defaults() if default.table == "vessels"
    }
    needed = ("fuel", "length_m", "water", "climate", "kept", "hours_per_year", "battery_ah", "hulls")
    for column in (*needed, "compartments"):
        assert all((column, kind) in known or (column, "any") in known for kind in kinds), column


@pytest.mark.parametrize("table", FILLED)
def test_every_yes_or_no_has_a_default_since_it_cannot_be_missing(table):
    defaults = {default.column for default in read_defaults() if default.table == table}
    assert {field.name for field in read_schema(table).fields if field.type == "boolean"} <= defaults


def test_what_a_boat_is_taken_for_goes_by_its_kind(load):
    fleet = load(vessels="vessel_id,propulsion,value\nA,outboard,1\nB,sterndrive,1\nC,sail_shaft,1\n")
    # A motor well is low and an outboard boat has one; other cockpits drain themselves: our judgement.
    assert fleet.vessels["low_transom"].tolist() == [True, False, False]
    assert fleet.vessels["self_draining"].tolist() == [False, True, True]
    assert fleet.vessels["covered"].tolist() == [False, False, False]
    assert fleet.vessels["hulls"].tolist() == [1, 1, 1]
    assert fleet.vessels["compartments"].tolist() == [1, 1, 1]


def test_a_physical_size_nobody_gave_stays_open(load, plain):
    fleet = load(**plain)
    for column in ("cabin_m3", "engine_space_m3", "vent_area_cm2", "blower_flow_lpm", "people_aboard"):
        assert fleet.vessels[column].isna().all(), column
    for column in ("shut_off_head_m", "hose_length_m", "bends", "amps", "chain_mm", "rope_mm"):
        assert fleet.items[column].isna().all(), column


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        ("periods,state,any,ashore,,ours,judgement", "table must be vessels, items or records, got periods"),
        ("boats,water,any,salt,,ours,judgement", "table must be vessels, items or records, got boats"),
        (
            "vessels,colour,any,red,,ours,judgement",
            "column must be a column of vessels that is not a date, got colour",
        ),
        (
            "items,installed_on,any,2010,,ours,judgement",
            "column must be a column of items that is not a date",
        ),
        (
            "vessels,water,rowed,salt,,ours,judgement",
            "propulsion must be a kind of propulsion or any, got rowed",
        ),
        (
            "vessels,water,any,beer,,ours,judgement",
            "value must be a known word: salt, brackish, fresh, got beer",
        ),
        ("vessels,battery_ah,any,-5,Ah,ours,judgement", "value must not be below 0, got -5"),
        ("vessels,shore_power,any,0.5,,ours,judgement", "value must be yes or no, got 0.5"),
        (
            "vessels,season_start,any,spring,,ours,judgement",
            "value must be a month and day such as 04-15, got spring",
        ),
        ("vessels,water,any,,,ours,judgement", "value must be given, got nothing"),
    ],
)
def test_a_default_its_column_cannot_hold_is_refused(tmp_path, row, rule):
    (tmp_path / "defaults.csv").write_text(f"{HEAD}{row}\n")
    with pytest.raises(TableError, match=f"defaults.csv row 2: {rule}"):
        read_defaults(tmp_path)


def test_broken_defaults_are_a_problem_of_the_fleet(problems, overlay):
    settings = overlay("vessels,water,any,beer,,ours,judgement")
    found = problems(settings=settings, vessels="vessel_id,propulsion,value\nA,outboard,-1\n")
    assert [message.rsplit("/", 1)[-1].split(":")[0] for message in found] == [
        "defaults.csv row 2",
        "vessels.csv row 2",
    ]
