"""The command as it is installed, and the judge of what it makes of hostile files."""

from importlib.metadata import entry_points

import pytest

from .judging import Judge


@pytest.fixture(scope="session")
def app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    return command.load()


@pytest.fixture
def judge(app, tmp_path):
    return Judge(app, tmp_path)


@pytest.fixture
def ended(judge):
    """Runs riskmodel with these words; the answer has exit_code, stdout and stderr."""
    return judge.ended
