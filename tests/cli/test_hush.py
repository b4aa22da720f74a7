"""What other libraries say to programmers never reaches the screen, unless Python is asked for it."""

import os
import subprocess
import sys
import warnings

import pytest

LOUD = """if True:
    import logging, warnings
    from importlib.metadata import entry_points
    import riskmodel.fleet
    real = riskmodel.fleet.load_fleet
    def loud(*args, **more):
        warnings.warn("raw warning", RuntimeWarning)
        logging.getLogger("elsewhere").warning("raw log")
        return real(*args, **more)
    riskmodel.fleet.load_fleet = loud
    (riskmodel,) = entry_points(group="console_scripts", name="riskmodel")
    riskmodel.load()()
"""


def by_process(*words, python=(), environment=None):
    clean = {name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"}
    command = [sys.executable, *python, "-c", LOUD, *(str(word) for word in words)]
    answer = subprocess.run(
        command, env=clean | (environment or {}), capture_output=True, text=True, timeout=120
    )
    assert answer.returncode == 0, answer.stderr
    return answer.stderr


@pytest.mark.thorough
def test_a_process_says_nothing_in_a_librarys_words(small):
    assert by_process("check", small, "--quiet") == ""
    assert by_process("check", small) == "Seen on 2026-06-01 (from its settings.toml).\n"


@pytest.mark.thorough
def test_whoever_asks_python_for_warnings_sees_them(small):
    assert "RuntimeWarning: raw warning" in by_process("check", small, "--quiet", python=("-W", "always"))


@pytest.mark.thorough
def test_a_home_that_cannot_be_written_to_is_no_readers_business(small, tmp_path):
    # A plain file where a folder should be: no user, the system's own neither, can make one there.
    (tmp_path / "file").write_text("")
    nowhere = str(tmp_path / "file" / "home")
    places = {"HOME": nowhere, "MPLCONFIGDIR": nowhere, "XDG_CACHE_HOME": nowhere, "XDG_CONFIG_HOME": nowhere}
    words = ("budget", small, "--amount", 9000, "--figure", tmp_path / "plan.png", "--quiet")
    assert by_process(*words, environment=places) == ""


def test_in_this_process_warnings_stay_errors(run):
    assert run("--version").exit_code == 0
    with pytest.raises(RuntimeWarning, match="heard"):
        warnings.warn("heard", RuntimeWarning, stacklevel=1)
