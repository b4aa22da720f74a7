"""What holds for any table: the order of rows, the form of the file, and no crash on any text."""

import datetime
import tempfile
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.fleet import check_fleet, load_fleet

TODAY = datetime.date(2026, 6, 1)
VESSELS = "vessel_id,propulsion,value\nWren,sterndrive,30000\nPlover,sail_shaft,60000\n"

item_rows = st.lists(
    st.tuples(
        st.sampled_from(["Wren", "Plover", "Tern", ""]),
        st.sampled_from(["bilge_pump", "shaft_packing", "shaft_paking", ""]),
        st.sampled_from(["2015-05-02", "2016", "2017-03", "", "soon", "2031"]),
        st.sampled_from(["38", "-1", "x", "", "nan", "1e400"]),
    ),
    max_size=8,
)


def checked(tables, today=TODAY):
    with tempfile.TemporaryDirectory() as folder:
        for name, text in tables.items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        return check_fleet(folder, today=today)


def items_text(rows):
    lines = [f"I{number},{','.join(row)}" for number, row in rows]
    return "\n".join(["item_id,vessel_id,item_class,installed_on,bore_mm", *lines]) + "\n"


@settings(max_examples=40, deadline=None)
@given(rows=item_rows, data=st.data())
def test_the_order_of_rows_only_moves_the_problems(rows, data):
    numbered = list(enumerate(rows))
    shuffled = data.draw(st.permutations(numbered))
    told = [
        sorted(
            (order[problem.row - 2][0], problem.column, problem.rule, problem.value)
            for problem in checked({"vessels.csv": VESSELS, "items.csv": items_text(order)})
        )
        for order in (numbered, shuffled)
    ]
    assert told[0] == told[1]


@settings(max_examples=12, deadline=None)
@given(rows=item_rows)
def test_a_row_is_judged_alike_alone_and_in_company(rows):
    together = checked({"vessels.csv": VESSELS, "items.csv": items_text(list(enumerate(rows)))})
    alone = [
        (place, problem.column, problem.rule, problem.value)
        for place, row in enumerate(rows)
        for problem in checked({"vessels.csv": VESSELS, "items.csv": items_text([(place, row)])})
    ]
    assert sorted((p.row - 2, p.column, p.rule, p.value) for p in together) == sorted(alone)


@settings(max_examples=60, deadline=None)
@given(text=st.text(alphabet=st.characters(codec="utf-8"), max_size=60))
def test_any_text_at_all_is_a_table_or_a_list_of_problems(text):
    assert isinstance(checked({"vessels.csv": text}), list)
    assert isinstance(checked({"vessels.csv": VESSELS, "items.csv": text}), list)


@settings(max_examples=60, deadline=None)
@given(content=st.binary(max_size=60), name=st.sampled_from(["vessels.csv", "vessels.parquet", "boats.xlsx"]))
def test_any_bytes_at_all_are_a_table_or_a_list_of_problems(content, name):
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / name).write_bytes(content)
        assert check_fleet(folder, today=TODAY)


@settings(max_examples=60, deadline=None)
@given(
    cells=st.lists(
        st.text(alphabet=st.characters(codec="utf-8", exclude_characters=',"\r\n'), max_size=12), min_size=5
    )
)
def test_any_cells_under_a_good_head_are_judged_without_a_crash(cells):
    head = "item_id,vessel_id,date,hours,event"
    rows = [",".join(cells[start : start + 5]) for start in range(0, len(cells) - 4, 5)]
    assert isinstance(checked({"vessels.csv": VESSELS, "records.csv": "\n".join([head, *rows])}), list)


VALID = {
    "vessels": pd.DataFrame(
        {
            "vessel_id": ["NA", "007", "Plover"],
            "name": ["Über, the sea", "None", ""],
            "propulsion": ["outboard", "sterndrive", "sail_shaft"],
            "value": [9000.1, 1e6 / 3, 60000.0],
            "built_year": [2010.0, None, 1987.0],
            "shore_power": ["yes", "no", ""],
            "season_start": ["04-15", "", "12-01"],
            "season_end": ["10-20", "", "02-29"],
            "records_from": ["2015-01-01", "", "2012-06-30"],
        }
    ),
    "items": pd.DataFrame(
        {
            "item_id": ["1", "2", "3"],
            "vessel_id": ["NA", "007", "Plover"],
            "item_class": ["fuel_fill_hose", "bellows_drive", "shaft_packing"],
            "installed_on": ["2015-05-02", "2016", "2017-03"],
            "bore_in": [1.5, None, 0.1 + 0.2],
            "quantity": [1.0, 12.0, None],
            "recall": ["", 'the 3/4" notice', ""],
        }
    ),
    "records": pd.DataFrame(
        {
            "item_id": ["1", "", "3"],
            "vessel_id": ["", "007", ""],
            "date": ["2019-05-01", "2020", "2021-10"],
            "event": ["inspected", "hauled", "replaced"],
            "hours": [120.5, None, 90.0],
            "note": ["two\nlines", "", "semi;colon"],
        }
    ),
}


def as_csv(folder):
    for name, frame in VALID.items():
        frame.to_csv(folder / f"{name}.csv", index=False)
    return folder


def as_semicolons(folder):
    (folder / "settings.toml").write_text('delimiter = ";"\ndecimal = ","\n')
    for name, frame in VALID.items():
        frame.to_csv(folder / f"{name}.csv", index=False, sep=";", decimal=",", encoding="utf-8-sig")
    return folder


def as_parquet(folder):
    for name, frame in VALID.items():
        frame.to_parquet(folder / f"{name}.parquet")
    return folder


def as_workbook(folder):
    with pd.ExcelWriter(folder / "boats.xlsx", engine="xlsxwriter") as writer:
        for name, frame in VALID.items():
            frame.to_excel(writer, sheet_name=name, index=False)
    return folder / "boats.xlsx"


# A workbook keeps sixteen digits of a number, one too few for every float.
@pytest.mark.parametrize(("form", "tolerance"), [(as_semicolons, 0), (as_parquet, 0), (as_workbook, 1e-14)])
def test_a_fleet_is_the_same_in_every_form(tmp_path, form, tolerance):
    (tmp_path / "one").mkdir()
    (tmp_path / "other").mkdir()
    one = load_fleet(as_csv(tmp_path / "one"), today=TODAY)
    other = load_fleet(form(tmp_path / "other"), today=TODAY)
    for name in ("vessels", "items", "records"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name), rtol=tolerance, atol=0)
        pd.testing.assert_frame_equal(one.given[name], other.given[name])
    pd.testing.assert_frame_equal(one.defaulted, other.defaulted)


def test_a_valid_fleet_loses_nothing_on_the_way_in(tmp_path):
    fleet = load_fleet(as_csv(tmp_path), today=TODAY)
    assert fleet.vessels["value"].tolist() == VALID["vessels"]["value"].tolist()
    assert fleet.vessels["name"].tolist() == VALID["vessels"]["name"].tolist()
    # But for ends of lines, which become spaces.
    assert fleet.records["note"].tolist() == [" ".join(note.split("\n")) for note in VALID["records"]["note"]]
    assert fleet.items["bore_mm"][2] == pytest.approx((0.1 + 0.2) * 25.4, rel=1e-15)


@pytest.mark.parametrize("day", [datetime.date(2016, 1, 1), datetime.date(2020, 1, 1), TODAY])
def test_no_function_changes_a_fleet_that_was_loaded_before(tmp_path, day):
    before = load_fleet(as_csv(tmp_path), today=TODAY)
    copies = {name: getattr(before, name).copy(deep=True) for name in VALID}
    load_fleet(tmp_path, as_of=day, today=TODAY)
    for name, copy in copies.items():
        pd.testing.assert_frame_equal(getattr(before, name), copy)
