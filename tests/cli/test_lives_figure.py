"""riskmodel lives draws and keeps lives in files beside its page, and never over somebody's own."""

import json
from importlib.metadata import entry_points

import pytest
from typer.testing import CliRunner

from riskmodel.life.saving import load_lives

pytestmark = pytest.mark.thorough

STARTS = {"png": b"\x89PNG", "pdf": b"%PDF", "svg": b"<?xml"}


@pytest.fixture(scope="module")
def app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    return command.load()


@pytest.fixture(scope="module")
def folder(written, two_boats):
    return written(**two_boats)


@pytest.fixture
def run(app, folder):
    return lambda *options: CliRunner().invoke(
        app, ["lives", str(folder), "--as-of", "2026-06-01", *map(str, options)]
    )


@pytest.mark.parametrize("kind", STARTS)
def test_a_figure_of_one_class_is_drawn_beside_the_page(run, tmp_path, kind):
    figure = tmp_path / f"life.{kind}"
    result = run("--item-class", "bellows_drive", "--figure", figure)
    assert result.exit_code == 0, result.output
    assert figure.read_bytes().startswith(STARTS[kind])
    assert "DRIVE BELLOWS" in result.stdout
    assert [path.name for path in tmp_path.iterdir()] == [figure.name]


def test_without_a_class_all_are_drawn(run, tmp_path):
    result = run("--figure", tmp_path / "all.svg", "--format", "csv")
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("item_class,")
    assert (tmp_path / "all.svg").stat().st_size > 50_000


def test_the_same_fleet_makes_the_same_figure(run, tmp_path):
    for name in ("one.png", "two.png"):
        assert run("--item-class", "bilge_pump", "--figure", tmp_path / name).exit_code == 0
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_saved_lives_can_be_loaded_and_say_whence(run, tmp_path, folder):
    result = run("--save", tmp_path / "lives.json")
    assert result.exit_code == 0, result.output
    lives = load_lives(tmp_path / "lives.json")
    assert {"bellows_drive", "shaft_packing"} <= set(lives)
    assert 0 < lives["bellows_drive"].failure_probability(3.0, 1.0) < 1
    whole = json.loads((tmp_path / "lives.json").read_text("utf-8"))
    assert whole["origin"].endswith("seen on 2026-06-01")


def test_one_class_is_saved_alone(run, tmp_path):
    assert run("--item-class", "bilge_pump", "--save", tmp_path / "lives.json").exit_code == 0
    assert list(load_lives(tmp_path / "lives.json")) == ["bilge_pump"]


@pytest.mark.parametrize("name", ["life.jpg", "life"])
def test_a_figure_of_another_kind_is_a_usage_error(run, tmp_path, name):
    result = run("--figure", tmp_path / name)
    assert result.exit_code == 2
    assert "must end in .png, .pdf, .svg" in result.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("option", "name"), [("--figure", "mine.png"), ("--save", "mine.json")])
def test_a_file_that_is_there_is_kept_without_force(run, tmp_path, option, name):
    (tmp_path / name).write_text("mine")
    result = run("--item-class", "bilge_pump", option, tmp_path / name)
    assert result.exit_code == 2
    assert "--force" in result.stderr
    assert (tmp_path / name).read_text() == "mine"
    assert run("--item-class", "bilge_pump", option, tmp_path / name, "--force").exit_code == 0
    assert (tmp_path / name).read_bytes() != b"mine"


def test_two_answers_in_one_file_are_refused(run, tmp_path):
    result = run("--out", tmp_path / "a.svg", "--figure", tmp_path / "a.svg")
    assert result.exit_code == 2
    assert "must name different files" in result.stderr


def test_a_folder_that_is_not_there_is_refused(run, tmp_path):
    result = run("--save", tmp_path / "none" / "lives.json")
    assert result.exit_code == 2
    assert "is not a folder" in result.stderr


def test_a_class_the_fleet_has_not_leaves_no_file(run, tmp_path):
    result = run(
        "--item-class", "bellows_drve", "--figure", tmp_path / "a.png", "--save", tmp_path / "a.json"
    )
    assert result.exit_code == 2
    assert "the nearest is bellows_drive" in result.stderr
    assert list(tmp_path.iterdir()) == []
