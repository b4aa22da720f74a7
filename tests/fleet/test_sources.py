"""Finding a fleet's tables on disk."""

import pandas as pd
import pytest

from riskmodel.errors import TableError
from riskmodel.fleet import check_fleet, load_fleet


def messages(path, today):
    return [str(problem) for problem in check_fleet(path, today=today)]


def test_nothing_there_is_a_problem(tmp_path, today):
    assert messages(tmp_path / "nowhere", today) == [
        "nowhere: must be a folder of tables or an .xlsx workbook, got no such file or folder"
    ]


def test_a_single_table_is_no_fleet(write, today):
    with pytest.raises(
        TableError, match=r"vessels.csv: must be a folder of tables or an .xlsx workbook, got a .csv file"
    ):
        load_fleet(write() / "vessels.csv", today=today)


def test_a_folder_without_tables_is_no_fleet(tmp_path, today):
    assert messages(tmp_path, today) == [f"{tmp_path.name}: must hold a vessels table, got none"]


def test_items_without_vessels_are_no_fleet(write, plain, today):
    folder = write(**{**plain, "vessels": None})
    assert messages(folder, today) == ["boats: must hold a vessels table, got items, records"]


def test_a_table_in_two_forms_is_refused(write, today):
    folder = write()
    pd.read_csv(folder / "vessels.csv").to_parquet(folder / "vessels.parquet")
    assert messages(folder, today) == ["vessels.csv: must not stand beside another, got vessels.parquet"]


def test_tables_may_mix_csv_and_parquet(write, plain, today):
    folder = write(**plain)
    pd.read_csv(folder / "items.csv").to_parquet(folder / "items.parquet")
    (folder / "items.csv").unlink()
    assert len(load_fleet(folder, today=today).items) == 2


def test_file_names_are_read_without_regard_to_capitals(write, today):
    folder = write()
    (folder / "vessels.csv").rename(folder / "Vessels.CSV")
    assert len(load_fleet(folder, today=today).vessels) == 2


def test_two_workbooks_leave_the_choice_to_the_keeper(tmp_path, today):
    for name in ("a.xlsx", "b.xlsx"):
        (tmp_path / name).write_bytes(b"")
    assert messages(tmp_path, today) == [
        f"{tmp_path.name}: must hold one workbook, or be given the path of one, got a.xlsx, b.xlsx"
    ]


def test_a_workbook_beside_tables_is_passed_by_and_said(write, today):
    folder = write()
    (folder / "plan.xlsx").write_bytes(b"")
    assert (
        "plan.xlsx was not read, because the folder holds tables of its own."
        in load_fleet(folder, today=today).notes
    )


def test_unreadable_files_and_bad_cells_are_told_together(problems):
    found = problems(
        vessels="vessel_id,propulsion,value\nA,rowed,1\n",
        items="item_id\n1,2\n",
        records="item_id,date,event\n,,\n",
    )
    assert found[0] == "items.csv row 2: must have 1 cells like the head, got 2"
    assert found[1].startswith("vessels.csv row 2: propulsion")
    assert len(found) == 2


def test_a_path_may_be_text(write, today):
    assert len(load_fleet(str(write()), today=today).vessels) == 2
