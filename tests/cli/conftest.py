"""Runs the command as it is installed, in this process."""

from importlib.metadata import entry_points

import pytest
from typer.testing import CliRunner


@pytest.fixture(scope="session")
def app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    return command.load()


@pytest.fixture(scope="session")
def run(app):
    """Runs riskmodel with these words; the answer has exit_code, stdout and stderr."""

    def invoke(*words):
        return CliRunner().invoke(app, [str(word) for word in words])

    return invoke


@pytest.fixture(scope="session")
def once(run):
    """The same, each sequence of words run once for all who ask."""
    known = {}

    def invoke(*words):
        if words not in known:
            known[words] = run(*words)
        return known[words]

    return invoke


@pytest.fixture(scope="session")
def small(written, two_boats):
    """The folder of a small fleet with a bit of everything, seen on 1 June 2026."""
    return written(**two_boats, settings="as_of = 2026-06-01\n")


@pytest.fixture(scope="session")
def bad(written):
    """The folder of a fleet with three things wrong in two tables."""
    items = [
        {"item_class": "bellows_drve", "installed_on": "2019"},
        {"item_class": "bilge_pump", "vessel_id": "B9", "installed_on": "2019"},
        {"item_class": "bilge_pump", "quantity": -2},
    ]
    return written(items, settings="as_of = 2026-06-01\n")
