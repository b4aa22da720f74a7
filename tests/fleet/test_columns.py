"""Column names: required ones, own ones, and units in them."""

import pytest


def notes(fleet):
    return " ".join(fleet.notes)


@pytest.mark.parametrize(
    ("column", "value", "own", "wanted"),
    [
        # 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 US gal = 3.785411784 L: published definitions, from memory.
        ("bore_in", "1.5", "bore_mm", 38.1),
        ("bore_ft", "1", "bore_mm", 304.8),
        ("depth_ft", "2", "depth_m", 0.6096),
        ("depth_in", "10", "depth_m", 0.254),
        ("rated_flow_gph", "1000", "rated_flow_lpm", 63.0901964),
        ("rated_flow_gpm", "10", "rated_flow_lpm", 37.85411784),
        ("static_head_ft", "4", "static_head_m", 1.2192),
    ],
)
def test_a_customary_column_is_converted(load, column, value, own, wanted):
    fleet = load(items=f"item_id,vessel_id,item_class,{column}\nI,Wren,bilge_pump,{value}\n")
    assert fleet.items[own][0] == pytest.approx(wanted, rel=1e-12)
    assert fleet.given["items"][own][0]
    assert f"items.csv: {column} was converted to {own}" in notes(fleet)


@pytest.mark.parametrize(
    ("column", "value", "own", "wanted"),
    [
        ("length_ft", "30", "length_m", 9.144),
        ("flooding_volume_cuft", "100", "flooding_volume_m3", 2.8316846592),
        ("flooding_volume_gal", "1000", "flooding_volume_m3", 3.785411784),
    ],
)
def test_a_customary_column_of_a_boat_is_converted(load, column, value, own, wanted):
    fleet = load(vessels=f"vessel_id,propulsion,value,{column}\nA,outboard,9000,{value}\n")
    assert fleet.vessels[own][0] == pytest.approx(wanted, rel=1e-12)


def test_both_units_of_one_thing_are_a_problem(problems):
    items = "item_id,vessel_id,item_class,bore_mm,bore_in\nI,Wren,raw_water_hose,38,1.5\n"
    assert problems(items=items) == [
        "items.csv row 1: bore_in must not stand beside bore_mm, which measures the same, got bore_in"
    ]


def test_two_customary_units_of_one_thing_are_a_problem(problems):
    items = "item_id,vessel_id,item_class,rated_flow_gph,rated_flow_gpm\nI,Wren,bilge_pump,600,10\n"
    assert problems(items=items) == [
        "items.csv row 1: rated_flow_gpm must not stand beside rated_flow_gph, which measures the same, "
        "got rated_flow_gpm"
    ]


@pytest.mark.parametrize(
    ("column", "units"),
    [
        ("bore_cm", "bore_mm or bore_in or bore_ft"),
        ("bore_gph", "bore_mm or bore_in or bore_ft"),
        ("bore", "bore_mm or bore_in or bore_ft"),
        ("bore_m", "bore_mm or bore_in or bore_ft"),
        ("rated_flow_lph", "rated_flow_lpm or rated_flow_gph or rated_flow_gpm or rated_flow_cfm"),
        ("depth_feet", "depth_m or depth_in or depth_ft"),
    ],
)
def test_a_unit_that_is_not_read_is_refused_with_those_that_are(problems, column, units):
    items = f"item_id,vessel_id,item_class,{column}\nI,Wren,raw_water_hose,38\n"
    assert problems(items=items) == [
        f"items.csv row 1: {column} must be in a unit that is read: {units}, got {column}"
    ]


def test_a_bad_value_in_a_customary_column_names_the_column_as_written(problems):
    items = "item_id,vessel_id,item_class,bore_in\nI,Wren,raw_water_hose,-1.5\n"
    assert problems(items=items) == ["items.csv row 2: bore_in must be above 0, got -1.5"]


def test_own_columns_that_only_look_like_units_are_left_alone(load):
    fleet = load(vessels="vessel_id,propulsion,value,length_overall,checked_in\nA,outboard,9000,x,y\n")
    assert "columns not used: length_overall, checked_in" in notes(fleet)


@pytest.mark.parametrize(
    ("head", "message"),
    [
        ("vesel_id,propulsion,value", "vessel_id must be a column (nearest: vesel_id)"),
        ("vessel_id,propultion,value", "propulsion must be a column (nearest: propultion)"),
        ("vessel_id,propulsion,worth", "value must be a column"),
    ],
)
def test_a_missing_required_column_names_the_nearest_there_is(problems, head, message):
    found = problems(vessels=f"{head}\nA,outboard,9000\n")
    assert found == [f"vessels.csv row 1: {message}, got no such column"]


@pytest.mark.parametrize("column", ["item_id", "vessel_id", "item_class"])
def test_each_required_column_of_the_items_is_missed(problems, column):
    columns = {"item_id": "I", "vessel_id": "Wren", "item_class": "bilge_pump"}
    del columns[column]
    items = f"{','.join(columns)}\n{','.join(columns.values())}\n"
    assert problems(items=items)[0].startswith(f"items.csv row 1: {column} must be a column")


def test_missing_ids_do_not_make_every_item_an_orphan(problems, plain):
    found = problems(
        **{**plain, "vessels": "boat,propulsion,value\nWren,sterndrive,1\nPlover,sail_shaft,1\n"}
    )
    assert found == ["vessels.csv row 1: vessel_id must be a column, got no such column"]
