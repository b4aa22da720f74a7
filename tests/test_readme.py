"""Every output shown in the README is what the program prints today, and its commands are complete."""

from __future__ import annotations

import re
import shlex
from importlib.metadata import entry_points
from pathlib import Path

import pytest
from typer.testing import CliRunner

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8") if (ROOT / "README.md").is_file() else ""
SHOWN = re.findall(r"```text\n\$ riskmodel (.*?)\n(.*?)```", README, flags=re.DOTALL)
BAD_VESSELS = "vessel_id,propulsion,value,length_ft\nA1,sterndrive,24000,25\nA2,sterdrive,9000,-20\n"
BAD_ITEMS = (
    "item_id,vessel_id,item_class,installed_on\ni1,A1,bellows_drve,2019\ni2,A3,bilge_pump,2031-01-01\n"
)


@pytest.fixture
def app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    return command.load()


def test_the_readme_shows_output():
    assert len(SHOWN) >= 4


@pytest.mark.parametrize(("words", "shown"), SHOWN, ids=[words for words, _ in SHOWN])
def test_output_shown_in_the_readme_is_what_the_program_prints(app, tmp_path, monkeypatch, words, shown):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "badfleet").mkdir()
    (tmp_path / "badfleet" / "vessels.csv").write_text(BAD_VESSELS)
    (tmp_path / "badfleet" / "items.csv").write_text(BAD_ITEMS)
    printed = CliRunner().invoke(app, shlex.split(words)).stdout
    start = 0
    for piece in shown.split("[...]\n"):
        at = printed.find(piece.strip("\n"), start)
        assert at >= 0, f"not printed any more:\n{piece}"
        start = at + len(piece.strip("\n"))


def test_the_job_stands_in_one_paragraph_at_the_top():
    head, first = README.split("\n\n")[:2]
    assert head == "# riskmodel"
    for word in ("owner", "fleet manager", "surveyor", "insurer", "pay for first"):
        assert word in first


def test_the_cautions_stand_in_the_readme():
    cautions = README.split("## Cautions")[1]
    for word in (
        "not a survey",
        "stricter",
        "qualified person",
        "ashore",
        "start disabled",
        "overboard",
        "blower",
    ):
        assert word in cautions


def test_the_test_command_of_the_readme_is_the_one_ci_runs():
    tests = README.split("<!-- tests -->")[1].split("<!-- end -->")[0]
    assert ".venv/bin/python -m pytest" in tests
    assert "<!-- tests -->" in (ROOT / ".ci" / "run").read_text("utf-8")
