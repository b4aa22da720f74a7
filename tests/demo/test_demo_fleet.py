"""The demo fleet: large and mixed enough, clean, and written anew byte for byte by its script."""

import importlib.util
import re
import shutil
from importlib.resources import as_file, files

import pytest

from riskmodel.fleet import check_fleet
from riskmodel.fleet.schema import read_schema


@pytest.fixture(scope="module")
def folder():
    with as_file(files("riskmodel.data.demo")) as path:
        yield path


def words_of(table, column):
    return next(field.enum for field in read_schema(table).fields if field.name == column)


def test_the_demo_is_clean(folder):
    assert check_fleet(folder) == []


def test_the_demo_is_large_enough_to_be_interesting(demo_fleet):
    assert len(demo_fleet.vessels) == 25
    assert len(demo_fleet.items) >= 300
    assert demo_fleet.records["date"].dt.year.nunique() >= 5


@pytest.mark.parametrize("column", ["event", "finding", "thoroughness", "reason"])
def test_every_kind_of_record_is_there(demo_fleet, column):
    there = set(demo_fleet.records[column]) - {""}
    # Nobody writes "unknown" into a column that may be left empty.
    assert set(words_of("records", column)) - there <= {"unknown", "installed", "with_vessel"}


def test_boats_are_of_mixed_kind(demo_fleet):
    for column in ("propulsion", "fuel", "kept", "water", "core"):
        assert demo_fleet.vessels[column].nunique() >= 2, column
    assert demo_fleet.vessels["propulsion"].nunique() == len(words_of("vessels", "propulsion"))


def test_ages_are_known_loosely_known_and_unknown(demo_fleet):
    after, by = demo_fleet.items["installed_after"], demo_fleet.items["installed_by"]
    assert (after == by).sum() > 50
    assert (after < by).sum() > 20
    assert by.isna().sum() > 20


def test_a_sold_a_bare_and_a_recalled_case_are_there(demo_fleet):
    assert set(demo_fleet.records.loc[demo_fleet.records["event"] == "sold", "vessel_id"]) == {"L24"}
    assert "L25" not in set(demo_fleet.items["vessel_id"])
    assert (demo_fleet.items["recall"] != "").any()


def test_the_script_writes_the_committed_files_byte_for_byte(folder, tmp_path, monkeypatch):
    spec = importlib.util.spec_from_file_location("make_demo_again", folder / "make_demo.py")
    script = importlib.util.module_from_spec(spec)
    # A dataclass looks its module up by name while it is made.
    monkeypatch.setitem(__import__("sys").modules, "make_demo_again", script)
    spec.loader.exec_module(script)
    shutil.copy(folder / "vessels.csv", tmp_path)
    monkeypatch.setattr(script, "FOLDER", tmp_path)
    script.main()
    written = sorted(path.name for path in tmp_path.iterdir())
    assert written == ["items.csv", "records.csv", "true_lives.csv", "vessels.csv"]
    for name in written:
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes(), name


def test_the_demo_says_that_it_is_invented(folder):
    assert "invented" in (folder / "settings.toml").read_text("utf-8")
    assert re.search("invented", (folder / "make_demo.py").read_text("utf-8"))
