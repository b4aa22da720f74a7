"""riskmodel begin writes two files that go on working, and never over somebody's own."""

import json
from importlib.metadata import entry_points

import pandas as pd
import pytest
from typer.testing import CliRunner

from riskmodel.fleet import GUESSED, load_fleet

GOOD = ["--propulsion", "sterndrive", "--length-m", "7.2", "--built", "2009", "--value", "38000"]


@pytest.fixture(scope="module")
def app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    return command.load()


@pytest.fixture
def begin(app, tmp_path):
    """Runs begin on a folder inside a temporary one."""

    def run(*options, folder="boat"):
        return CliRunner().invoke(app, ["begin", str(tmp_path / folder), *options])

    return run


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_it_writes_a_workbook_and_a_sheet_and_nothing_else(begin, tmp_path):
    result = begin(*GOOD, "--name", "Whimbrel")
    assert result.exit_code == 0, result.output
    assert names(tmp_path / "boat") == ["fleet.xlsx", "walk-round.html"]
    fleet = load_fleet(tmp_path / "boat")
    assert fleet.vessels["name"].tolist() == ["Whimbrel"]
    assert "Walk round Whimbrel" in (tmp_path / "boat" / "walk-round.html").read_text("utf-8")


def test_it_tells_on_stderr_what_was_written_and_what_may_be_missing(begin):
    result = begin(*GOOD)
    assert result.stdout == ""
    assert "fleet.xlsx: one boat and" in result.stderr
    assert "Perhaps also aboard (add a row if so): " in result.stderr
    assert "Then: riskmodel rank" in result.stderr


def test_quiet_says_nothing(begin):
    result = begin(*GOOD, "--quiet")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "", "")


def test_the_fleet_it_writes_can_be_ranked(begin, app, tmp_path):
    begin(*GOOD)
    result = CliRunner().invoke(app, ["rank", str(tmp_path / "boat"), "--format", "csv"])
    assert result.exit_code == 0, result.output
    assert "bellows_drive" in result.stdout


def test_folders_are_made_on_the_way(begin, tmp_path):
    assert begin(*GOOD, folder="a/b/boat").exit_code == 0
    assert (tmp_path / "a/b/boat/fleet.xlsx").is_file()


@pytest.mark.parametrize("mine", ["fleet.xlsx", "walk-round.html"])
def test_a_filled_in_file_is_not_overwritten_without_force(begin, tmp_path, mine):
    folder = tmp_path / "boat"
    folder.mkdir()
    (folder / mine).write_text("mine")
    result = begin(*GOOD)
    assert result.exit_code == 2
    assert "--force" in result.stderr
    assert names(folder) == [mine]
    assert (folder / mine).read_text() == "mine"


def test_force_overwrites(begin, tmp_path):
    begin(*GOOD, "--name", "Old")
    assert begin(*GOOD, "--name", "New", "--force").exit_code == 0
    assert load_fleet(tmp_path / "boat").vessels["name"].tolist() == ["New"]


@pytest.mark.parametrize("other", ["vessels.csv", "Items.CSV", "records.parquet", "boats.xlsx"])
def test_a_folder_with_another_fleet_is_refused_even_with_force(begin, tmp_path, other):
    folder = tmp_path / "boat"
    folder.mkdir()
    (folder / other).write_text("mine")
    result = begin(*GOOD, "--force")
    assert result.exit_code == 2
    assert other in result.stderr
    assert names(folder) == [other]


def test_a_file_in_the_folders_place_is_refused(begin, tmp_path):
    (tmp_path / "boat").write_text("mine")
    result = begin(*GOOD)
    assert result.exit_code == 2
    assert "is a file" in result.stderr


@pytest.mark.parametrize(
    ("option", "value", "message"),
    [
        ("--propulsion", "paddle", "propulsion must be one of"),
        ("--length-m", "0", "length_m must be above 0"),
        ("--built", "2999", "built_year must"),
        ("--value", "-1", "value must be above 0"),
        ("--value", "nan", "must be a finite number"),
        ("--built", "new", "--built"),
    ],
)
def test_a_boat_that_cannot_be_leaves_no_folder(begin, tmp_path, option, value, message):
    result = begin(*GOOD, option, value)
    assert result.exit_code == 2
    assert message in result.stderr
    assert not (tmp_path / "boat").exists()


def test_faulty_settings_in_the_folder_are_bad_data(begin, tmp_path):
    folder = tmp_path / "boat"
    folder.mkdir()
    (folder / "settings.toml").write_text("colour = 'red'\n")
    result = begin(*GOOD)
    assert result.exit_code == 3
    assert "settings.toml: colour must be a known setting" in result.stderr
    assert names(folder) == ["settings.toml"]


def test_without_a_value_a_guess_is_written_and_said_to_be_one(begin, tmp_path):
    words = list(GOOD)
    at = words.index("--value")
    result = begin(*words[:at], *words[at + 2 :])
    assert result.exit_code == 0
    assert "our rough guess" in result.stderr
    assert load_fleet(tmp_path / "boat").vessels["value"].iloc[0] > 0


GUESS = "fleet.xlsx sheet vessels: the value of 1 boat is a rough guess by `riskmodel begin` (V1)"


@pytest.fixture
def filled_in(begin, tmp_path):
    """The fleet that was begun as CSV tables, with these cells of the boat changed."""

    def filled(**cells):
        with pd.ExcelFile(tmp_path / "boat" / "fleet.xlsx") as book:
            tables = {name: book.parse(name, dtype=str).fillna("") for name in ("vessels", "items")}
        folder = tmp_path / "filled"
        folder.mkdir()
        for name, table in tables.items():
            table.to_csv(folder / f"{name}.csv", index=False)
        vessels = tables["vessels"].assign(**cells)
        vessels.to_csv(folder / "vessels.csv", index=False)
        return folder

    return filled


def test_a_value_it_guessed_stays_known_as_a_guess(begin, app, tmp_path):
    begin(*GOOD[:-2])
    folder = str(tmp_path / "boat")
    assert any(GUESS in note for note in load_fleet(folder).notes)
    said = CliRunner().invoke(app, ["explain", folder, "V1-01", "--format", "json"])
    assert said.exit_code == 0, said.output
    (value,) = (step for step in json.loads(said.stdout) if step["what"] == "value")
    assert value["source"] == GUESSED


def test_a_value_its_keeper_gave_is_theirs(begin, tmp_path, filled_in):
    begin(*GOOD)
    assert load_fleet(tmp_path / "boat").vessels["guessed_value"].isna().all()
    begin(*GOOD[:-2], "--force")
    folder = filled_in(value="31000")
    assert not any("guess" in note for note in load_fleet(folder).notes)
    assert load_fleet(folder).vessels["guessed_value"].notna().all()
