"""What a person sees: 80 columns, no colour in a pipe, ASCII where the terminal has no more, cautions below."""

import os
import re
import subprocess
import sys
from importlib.resources import files

import pytest

pytestmark = pytest.mark.thorough

COMMANDS = (
    ["rank"],
    ["lives"],
    ["lives", "--item-class", "bellows_drive"],
    ["check"],
    ["explain", "L12-float-switch-1"],
    ["explain", "L25/bellows_drive"],
    ["rank", "--levels"],
    ["rank", "--set", "checked_every_days=3"],
    ["lives", "--intervals"],
    ["season", "L03"],
    ["budget", "--amount", "9000"],
)
REPORTS = [words for words in COMMANDS if words != ["check"]]
LAUNCH = (
    "from importlib.metadata import entry_points as points; "
    "points(group='console_scripts', name='riskmodel')['riskmodel'].load()()"
)


def in_a_process(*words, **environment):
    """The command in a process of its own, its output a pipe; bytes."""
    return subprocess.run(
        [sys.executable, "-c", LAUNCH, *map(str, words)],
        capture_output=True,
        env=os.environ | environment,
        check=False,
        timeout=60,
    )


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_no_line_is_wider_than_eighty_columns(once, words):
    result = once(*words)
    assert result.exit_code == 0, result.stderr
    assert [line for line in result.stdout.splitlines() if len(line) > 80] == []


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_no_line_ends_in_blanks(once, words):
    assert [line for line in once(*words).stdout.splitlines() if line != line.rstrip()] == []


@pytest.mark.parametrize("words", REPORTS, ids=" ".join)
def test_every_report_ends_with_the_cautions(once, words):
    end = " ".join(once(*words).stdout.split())
    for said in (
        "not a survey",
        "it comes first",
        "qualified person",
        "no reason to skip",
        "never goes overboard",
    ):
        assert said in end[-1200:]


@pytest.mark.parametrize("words", REPORTS, ids=" ".join)
def test_every_report_says_which_fleet_and_from_when_to_when(once, words):
    head = " ".join(once(*words).stdout.split())[:160]
    # One boat's season is its own; a fleet's is its latest.
    until = "2027-10-15" if words[0] == "season" else "2027-11-15"
    assert head.startswith(f"The embedded demo fleet (invented boats), seen on 2026-11-02, up to {until}")


@pytest.mark.parametrize("words", [["rank"], ["lives"], ["explain", "L12-float-switch-1"]], ids=" ".join)
def test_every_report_says_what_was_assumed(once, words):
    assert "Note: 1 boat sold: learned from, not ranked." in once(*words).stdout


def test_the_ranking_comes_in_its_three_parts_and_ends_in_two_sentences(once):
    page = once("rank").stdout
    heads = ["BEFORE THE BOAT IS USED AGAIN", "THEN: PATHS THAT CAN KILL", "THEN: WHERE THE NEXT MONEY GOES"]
    places = [page.index(head) for head in heads]
    assert places == sorted(places)
    said = " ".join(page[places[2] :].split())
    closing = re.search(
        r"First put right the \d+ known defects above, starting with .*?\. Then the first .*?\.", said
    )
    assert closing
    assert "before insurance" in said


def test_a_fleet_without_defects_is_told_what_to_do_first(run, written):
    fleet = written(
        [{"item_class": "shaft_packing", "installed_on": "2015"}], settings="as_of = 2026-06-01\n"
    )
    page = " ".join(run("rank", fleet).stdout.split())
    assert "known defects, whatever their chance or price None on record." in page
    assert re.search(r"First [a-z ]+(, \d times)?: B1's shaft packing", page)


def test_numbers_are_not_longer_than_what_is_known(once):
    table = once("rank").stdout.split("THEN: WHERE")[1].split("more: ask")[0]
    assert re.findall(r"\d\.\d{3,}", table) == []


@pytest.mark.parametrize("words", [["check"], ["--help"]], ids=" ".join)
def test_a_pipe_gets_no_colour(words):
    assert b"\x1b" not in in_a_process(*words).stdout


def test_a_terminal_with_ascii_only_gets_ascii():
    result = in_a_process("check", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert result.returncode == 0, result.stderr
    result.stdout.decode("ascii")


def test_letters_beyond_ascii_in_a_boats_name_do_not_stop_the_report(written):
    boats = [{"name": "Möwe – Süd"}]
    fleet = written([{"item_class": "shaft_packing"}], boats=boats, settings="as_of = 2026-06-01\n")
    plain = in_a_process("rank", fleet, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert plain.returncode == 0, plain.stderr
    assert "M?we" in plain.stdout.decode("ascii")
    whole = in_a_process("rank", fleet, PYTHONIOENCODING="utf-8")
    assert "Möwe – Süd" in whole.stdout.decode("utf-8")


def test_help_starts_without_pandas_or_numpy():
    probe = (
        "import sys, typer; from typer.testing import CliRunner; from importlib.metadata import entry_points\n"
        "app = entry_points(group='console_scripts', name='riskmodel')['riskmodel'].load()\n"
        "assert CliRunner().invoke(app, ['rank', '--help']).exit_code == 0\n"
        "print([name for name in ('pandas', 'numpy', 'scipy', 'pyarrow', 'matplotlib') if name in sys.modules])"
    )
    result = subprocess.run(
        [sys.executable, "-c", probe], capture_output=True, text=True, check=True, timeout=60
    )
    assert result.stdout.strip() == "[]"


def test_a_reader_that_goes_away_is_no_fault_of_anybodys():
    script = f'"{sys.executable}" -c "{LAUNCH}" check --quiet | head -n 1'
    result = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {script}"], capture_output=True, text=True, timeout=60
    )
    assert result.stdout.startswith("The embedded demo fleet")
    assert "Traceback" not in result.stderr


def test_a_used_boat_without_dates_is_ranked_and_says_that_ages_are_unknown(run, written):
    boats = [{"built_year": 1995}]
    items = [{"item_class": name} for name in ("bellows_drive", "bilge_pump", "fuel_feed_hose")]
    fleet = written(items, boats=boats, settings="as_of = 2026-06-01\n")
    result = run("rank", fleet, "--format", "csv")
    assert result.exit_code == 0
    assert result.stdout.count("age unknown") == 3
    assert "lives rest on trade intervals alone" in result.stderr


def test_a_schedule_without_items_says_what_it_assumed(run, written):
    result = run(
        "rank", written(boats=[{"vessel_id": "A"}, {"vessel_id": "B"}], settings="as_of = 2026-06-01\n")
    )
    said = " ".join(result.stdout.split())
    assert result.exit_code == 0
    assert "No items table: the typical outfit of each boat is assumed." in said
    assert "2 of 2 boats without a list of parts" in said


def test_a_records_table_of_a_head_only_reads_like_none(run, written, two_boats):
    fleet = written(two_boats["items"], None, two_boats["boats"], "as_of = 2026-06-01\n")
    without = run("rank", fleet, "--format", "csv").stdout
    head = files("riskmodel.data.demo").joinpath("records.csv").read_text("utf-8").splitlines()[0]
    (fleet / "records.csv").write_text(head + "\n")
    assert run("rank", fleet, "--format", "csv").stdout == without


def test_the_front_page_says_that_these_are_estimates(run):
    assert "Estimates, not a survey" in run("--help").stdout
    assert run("--help").exit_code == 0
