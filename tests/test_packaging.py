"""The recipe in pyproject.toml holds every folder and file that the installed package needs."""

import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import entry_points
from importlib.resources import files
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
RECIPE = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
SETUPTOOLS = RECIPE["tool"]["setuptools"]
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "riskmodel", "cli", "data", "notebooks", "tests"}


def folder_of(package):
    """Where a package lies in the checkout, by the longest mapping that fits."""
    mapping = SETUPTOOLS["package-dir"]
    longest = max((name for name in mapping if f"{package}.".startswith(f"{name}.")), key=len)
    return ROOT / mapping[longest] / Path(*package.removeprefix(longest).strip(".").split("."))


def tracked():
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("not a git checkout: nothing says which files are part of the project")
    told = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return told.stdout.splitlines()


def test_packages_are_the_folders_that_hold_an_init():
    found = {
        path.parent
        for top in SETUPTOOLS["package-dir"].values()
        for path in (ROOT / top).rglob("__init__.py")
    }
    assert {folder_of(package) for package in SETUPTOOLS["packages"]} == found
    assert len(SETUPTOOLS["packages"]) == len(set(SETUPTOOLS["packages"]))


def test_every_folder_with_code_in_it_is_a_package():
    for top in SETUPTOOLS["package-dir"].values():
        for path in (ROOT / top).rglob("*.py"):
            assert (path.parent / "__init__.py").is_file(), path


def test_every_data_file_is_packed():
    packed = {
        path
        for package, patterns in SETUPTOOLS["package-data"].items()
        for pattern in patterns
        for path in folder_of(package).glob(pattern)
    }
    wanted = {
        path
        for kind in ("csv", "json", "toml", "md", "parquet")
        for path in (ROOT / "data").rglob(f"*.{kind}")
    }
    assert wanted <= packed
    assert ROOT / "riskmodel" / "py.typed" in packed


def test_no_pattern_packs_nothing():
    for package, patterns in SETUPTOOLS["package-data"].items():
        for pattern in patterns:
            assert list(folder_of(package).glob(pattern)), f"{package}: {pattern}"


def test_the_data_is_found_through_the_package():
    for folder in ("trade", "demo", "schema", "reference"):
        assert any(
            each.name.endswith((".csv", ".json")) for each in files(f"riskmodel.data.{folder}").iterdir()
        )


def test_the_source_tree_works_by_itself_where_it_is_found_before_the_installed_package(tmp_path):
    # -S leaves out what an editable install adds; dependencies are put in by their folder.
    code = (
        "import sys; sys.path[:0] = [sys.argv[1]]; sys.path += sys.argv[2:]; import riskmodel; "
        "from importlib.resources import files; import riskmodel.cli, riskmodel.data.demo as demo; "
        "from riskmodel.fleet.schema import read_schema; read_schema('records'); "
        "print(files(demo).joinpath('vessels.csv').is_file(), riskmodel.__file__, riskmodel.cli.__file__)"
    )
    folders = [folder for folder in sys.path if Path(folder).name == "site-packages"]
    words = [sys.executable, "-I", "-S", "-c", code, str(ROOT), *folders]
    told = subprocess.run(words, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (told.returncode, told.stderr) == (0, "")
    assert told.stdout.split() == [
        "True",
        str(ROOT / "riskmodel" / "__init__.py"),
        str(ROOT / "cli" / "__init__.py"),
    ]


def test_the_command_is_installed_and_leads_to_the_app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    assert command.value == RECIPE["project"]["scripts"]["riskmodel"]
    assert command.load().info.name == "riskmodel"


def test_the_version_stands_in_one_place():
    import riskmodel

    assert RECIPE["project"]["dynamic"] == ["version"]
    assert SETUPTOOLS["dynamic"]["version"] == {"attr": "riskmodel.__version__"}
    assert riskmodel.__version__.count(".") == 2


def test_the_top_of_the_repository_holds_nothing_else():
    tops = {name.split("/")[0] for name in tracked()}
    assert {name for name in tops if not name.startswith(".")} == TOP


def test_what_the_library_imports_is_declared():
    declared = {line.split(">")[0].lower() for line in RECIPE["project"]["dependencies"]}
    assert {"numpy", "scipy", "pandas", "pyarrow", "typer", "xlsxwriter", "python-calamine"} <= declared
