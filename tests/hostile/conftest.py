"""Hostile fleets for whoever wants one, and the judge of what the commands make of them."""

import importlib.util
from importlib.metadata import entry_points
from pathlib import Path

import pytest
from typer.testing import CliRunner


def _beside(name):
    """A module of helpers in this folder: tests are collected without a package they could be imported from."""
    spec = importlib.util.spec_from_file_location(f"hostile_{name}", Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def hostile():
    """Builds hostile fleets: ``write(folder, kind, random)``."""
    return _beside("cases").Builder(_beside("fleets"), _beside("mutators"))


@pytest.fixture(scope="session")
def judge():
    """Runs the commands as they are installed, in this process, and holds them to their promises."""
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    app = command.load()
    return _beside("cases").Judge(lambda *words: CliRunner().invoke(app, [str(word) for word in words]))


@pytest.fixture(scope="session")
def asked():
    """What is asked of a fleet that check has cleared."""
    return _beside("cases").ASKED
