"""Exit codes and streams: what goes to stdout, what to stderr, and what each end is called."""

import pytest

from riskmodel.trade import load_trade, typical_outfit

pytestmark = pytest.mark.thorough

ANSWERS = ("rank", "lives", "check")


@pytest.mark.parametrize("command", ANSWERS)
def test_a_good_fleet_ends_with_nought_and_answers_on_stdout(run, small, command):
    result = run(command, small)
    assert result.exit_code == 0, result.output
    assert len(result.stdout) > 200
    assert result.stderr == "Seen on 2026-06-01 (from its settings.toml).\n"


def test_explain_answers_too(run, small):
    result = run("explain", small, "I0")
    assert result.exit_code == 0
    assert result.stdout.count("[") > 20


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["rank", "--as-of", "yesterday"], "as-of"),
        (["rank", "--months", "0"], "months"),
        (["rank", "--format", "xml"], "format"),
        (["rank", "--until", "2027-01-01", "--months", "3"], "not both"),
        (["rank", "--until", "2020-01-01"], "until must lie after"),
        (["rank", "--colour"], "colour"),
        (["sail"], "sail"),
        (["explain"], "ITEM"),
        (["explain", "a", "b", "c"], "a fleet and one item"),
        (["rank", "--out", "/no/such/folder/rank.txt"], "is not a folder"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_a_wrong_word_is_a_usage_error_and_says_which(run, words, says):
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert says in " ".join(result.stderr.replace("│", " ").split())


@pytest.mark.parametrize("command", ["rank", "lives"])
def test_bad_data_ends_with_three_and_says_file_row_column_rule_and_value(run, bad, command):
    result = run(command, bad)
    assert result.exit_code == 3
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert "items.csv row 2: item_class" in lines[0]
    assert "the nearest is bellows_drive" in lines[0] or "bellows_drive" in lines[0]
    assert any(line.startswith("items.csv row 3: vessel_id") and line.endswith("got B9") for line in lines)
    assert any(line.startswith("items.csv row 4: quantity") and line.endswith("got -2") for line in lines)


def test_check_prints_problems_as_its_answer_and_ends_with_three(run, bad):
    result = run("check", bad)
    assert result.exit_code == 3
    assert "items.csv row 4: quantity" in result.stdout
    assert result.stdout.endswith("3 problems. Nothing was read in and nothing was written.\n")
    assert result.stderr == ""


def test_a_fleet_that_is_not_there_is_bad_data(run, tmp_path):
    result = run("rank", tmp_path / "nowhere")
    assert result.exit_code == 3
    assert "nowhere: must be a folder of tables or an .xlsx workbook" in result.stderr


def test_bad_data_writes_nothing(run, bad, tmp_path):
    before = sorted(path.name for path in bad.iterdir())
    assert run("rank", bad, "--out", tmp_path / "rank.txt").exit_code == 3
    assert list(tmp_path.iterdir()) == []
    assert sorted(path.name for path in bad.iterdir()) == before


def test_what_the_fleet_does_not_hold_is_a_usage_error(run, small):
    missing = run("explain", small, "I99")
    assert (missing.exit_code, missing.stdout) == (2, "")
    assert "no item I99 in this fleet; the nearest is I9" in missing.stderr
    unknown = run("lives", small, "--item-class", "bellows_drve")
    assert (unknown.exit_code, unknown.stdout) == (2, "")
    assert "the nearest is bellows_drive" in " ".join(unknown.stderr.split())


@pytest.mark.parametrize("command", ["rank", "lives"])
def test_strict_ends_with_four_when_something_was_assumed(run, written, command):
    result = run(command, written(boats=[{}], settings="as_of = 2026-06-01\n"), "--strict")
    assert result.exit_code == 4
    assert len(result.stdout) > 200
    assert "and --strict was given" in result.stderr


def test_strict_is_content_with_a_fleet_that_leaves_nothing_out(run, written, two_boats):
    boats = [boat | {"records_from": "2012-01-01"} for boat in two_boats["boats"]]
    usual = typical_outfit(load_trade(), "sterndrive", 7.5, 2005)
    items = [
        {"item_id": f"{boat['vessel_id']}-{name}", "vessel_id": boat["vessel_id"], "item_class": name}
        for boat in boats
        for name in usual
    ]
    boats = [boat | {"propulsion": "sterndrive", "length_m": 7.5, "built_year": 2005} for boat in boats]
    look = {"item_id": items[0]["item_id"], "date": "2026-05-01", "event": "inspected", "finding": "sound"}
    fleet = written(items, [look], boats, "as_of = 2026-06-01\n")
    result = run("rank", fleet, "--strict")
    assert result.exit_code == 0, result.output


def test_a_fault_of_ours_ends_with_one_and_says_how_to_see_it(run, small, monkeypatch):
    def broken(*_args, **_more):
        raise ZeroDivisionError("nought")

    monkeypatch.setattr("riskmodel.risk.assess", broken)
    result = run("rank", small)
    assert result.exit_code == 1
    assert "riskmodel failed (ZeroDivisionError: nought). Use --debug to see where." in result.stderr
    assert "Traceback" not in result.stderr


def test_debug_lets_the_fault_through(run, small, monkeypatch):
    def broken(*_args, **_more):
        raise ZeroDivisionError("nought")

    monkeypatch.setattr("riskmodel.risk.assess", broken)
    assert isinstance(run("rank", small, "--debug").exception, ZeroDivisionError)


def test_debug_lets_a_refusal_through_too(run, bad):
    assert type(run("check", bad, "--debug").exception).__name__ == "TableError"


def test_quiet_says_nothing_beside_the_answer(run, small):
    result = run("rank", small, "--quiet")
    assert (result.exit_code, result.stderr) == (0, "")


def test_without_a_fleet_the_demo_is_used_and_said(run):
    result = run("check")
    assert "No fleet named: using the embedded demo fleet." in result.stderr
    assert result.stdout.startswith("The embedded demo fleet (invented boats)")


def test_the_version_is_printed(run):
    import riskmodel

    assert run("--version").stdout == f"riskmodel {riskmodel.__version__}\n"


@pytest.mark.parametrize("command", ["begin", "check", "rank", "lives", "explain", "season", "budget"])
def test_every_command_explains_itself(run, command):
    result = run(command, "--help")
    assert result.exit_code == 0
    assert f"riskmodel {command}" in result.stdout
    assert result.stdout.count("--") >= 5
    assert command in run("--help").stdout
