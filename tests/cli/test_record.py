"""riskmodel record adds one line, tells where, and refuses with nothing written."""

from datetime import date
from importlib.metadata import entry_points

import pytest
from typer.testing import CliRunner

from riskmodel.fleet import check_fleet, load_fleet

TABLES = {
    "vessels.csv": "vessel_id,propulsion,value\nWren,sterndrive,30000\n",
    "items.csv": "item_id,vessel_id,item_class\nW1,Wren,bellows_drive\n",
    "records.csv": "item_id,vessel_id,date,event,finding,thoroughness,reason,hours,note\nW1,,2019,inspected,,,,,\n",
}
OLD = TABLES["records.csv"]


@pytest.fixture(scope="module")
def app():
    (command,) = entry_points(group="console_scripts", name="riskmodel")
    return command.load()


@pytest.fixture
def boats(tmp_path):
    for name, text in TABLES.items():
        (tmp_path / name).write_text(text)
    return tmp_path


@pytest.fixture
def record(app, boats):
    """Runs record on the small fleet, with ``typed`` on its standard input."""

    def run(*options, typed=None, path=boats):
        return CliRunner().invoke(app, ["record", str(path), *options], input=typed)

    return run


def lines(boats):
    return (boats / "records.csv").read_text().removeprefix(OLD)


def test_a_record_is_added_and_told_of_on_stderr(record, boats):
    result = record("--item", "W1", "--date", "2020-05-01", "--event", "inspected", "--finding", "sound")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr == "Added to records.csv row 3: W1,,2020-05-01,inspected,sound,,,,\n"
    assert lines(boats) == "W1,,2020-05-01,inspected,sound,,,,\n"


def test_every_option_reaches_its_column(record, boats):
    options = {
        "--vessel": "Wren",
        "--item": "W1",
        "--date": "2020-05",
        "--event": "tested",
        "--finding": "suspect",
        "--thoroughness": "opened",
        "--reason": "scheduled",
        "--reading": "4",
        "--reading-unit": "drips/min",
        "--hours": "310",
        "--note": "a, b",
    }
    result = record(*[word for pair in options.items() for word in pair])
    assert result.exit_code == 0, result.stderr
    assert "New at the end of its head: reading, reading_unit." in result.stderr
    row = load_fleet(boats).records.iloc[-1]
    names = ["vessel_id", "item_id", "event", "finding", "thoroughness", "reason", "reading", "reading_unit"]
    assert row[[*names, "hours", "note"]].tolist() == [
        *("Wren", "W1", "tested", "suspect", "opened", "scheduled", 4.0, "drips/min", 310.0, "a, b")
    ]
    assert str(row["date_by"].date()) == "2020-05-31"


def test_without_a_date_it_is_todays(record, boats):
    before = date.today()
    assert record("--vessel", "Wren", "--event", "hauled", "--quiet").stderr == ""
    assert lines(boats).split(",")[2] in {before.isoformat(), date.today().isoformat()}


def test_a_dry_run_shows_the_line_and_writes_nothing(record, boats):
    result = record("--item", "W1", "--date", "2020-05-01", "--event", "tested", "--dry-run")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr == "Would add to records.csv row 3: W1,,2020-05-01,tested,,,,,\n"
    assert {path.name: path.read_text() for path in boats.iterdir()} == TABLES


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ((), "records.csv row 3: event must be given, got nothing"),
        (("--item", "W9", "--event", "tested"), "row 3: item_id must be in the items table, got W9"),
        (("--item", "W1", "--event", "explod"), "row 3: event must be a known word, got explod"),
        (("--item", "W1", "--event", "tested", "--date", "2199-01-01"), "row 3: date must not be after"),
        (("--item", "W1", "--event", "hauled"), "row 3: event must name its vessel_id, got hauled"),
        (("--item", "W1", "--event", "tested", "--hours", "x"), "row 3: hours must be a number, got x"),
    ],
)
def test_what_check_would_refuse_ends_with_code_3_and_nothing_written(record, boats, options, message):
    result = record(*options)
    assert (result.exit_code, result.stdout) == (3, "")
    assert message in result.stderr
    assert lines(boats) == ""


def test_a_fleet_broken_elsewhere_ends_with_code_3_and_its_own_problems(record, boats):
    (boats / "vessels.csv").write_text(TABLES["vessels.csv"] + "Wren,rowed,1\n")
    result = record("--item", "W1", "--event", "tested")
    assert result.exit_code == 3
    assert "must be in order before a record is added, got 2 problems" in result.stderr
    assert "vessels.csv row 3: propulsion must be a known word" in result.stderr
    assert lines(boats) == ""


def test_a_fleet_must_be_named(app):
    result = CliRunner().invoke(app, ["record", "--item", "W1"])
    assert result.exit_code == 2


def test_a_folder_that_cannot_be_written_to_is_a_usage_error(record, boats, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    result = record("--item", "W1", "--event", "tested")
    assert result.exit_code == 2
    assert "cannot be written to: No space left on device" in result.stderr
    assert lines(boats) == ""


def test_asking_goes_through_the_columns_and_asks_again_after_a_wrong_word(record, boats):
    typed = "W9\nW1\n2020-05-01\nlooked\ninspected\nsound\n\nscheduled\n310\n\nfine, all\n"
    result = record("--ask", typed=typed)
    assert (result.exit_code, result.stdout) == (0, ""), result.stderr
    assert "item_id must be in the items table (nearest" not in result.stderr
    assert "  item_id must be in the items table.\n" in result.stderr
    assert "  event must be a known word: installed, inspected" in result.stderr
    assert "finding (sound, suspect, failing, failed, unknown) [empty to leave blank]: " in result.stderr
    assert lines(boats) == 'W1,,2020-05-01,inspected,sound,,scheduled,310,"fine, all"\n'


def test_asking_leaves_out_what_was_given(record, boats):
    result = record("--vessel", "Wren", "--event", "hauled", "--ask", typed="2020-10-12\n\n\n")
    assert result.exit_code == 0, result.stderr
    assert "event (" not in result.stderr
    assert lines(boats) == ",Wren,2020-10-12,hauled,,,,,\n"


def test_an_empty_answer_to_the_date_is_today(record, boats):
    before = date.today()
    assert record("--vessel", "Wren", "--ask", typed="\nhauled\n\n\n").exit_code == 0
    assert lines(boats).split(",")[2] in {before.isoformat(), date.today().isoformat()}


def test_the_end_of_the_input_leaves_the_rest_blank(record, boats):
    assert record("--item", "W1", "--ask", typed="2020-05-01\ntested\n").exit_code == 0
    assert lines(boats) == "W1,,2020-05-01,tested,,,,,\n"


def test_input_that_ends_before_what_is_needed_is_refused(record, boats):
    result = record("--item", "W1", "--ask", typed="")
    assert result.exit_code == 3
    assert "event must be given" in result.stderr
    assert lines(boats) == ""


def test_a_workbook_from_begin_takes_a_record(app, record, tmp_path):
    folder = tmp_path / "mine"
    words = ["--propulsion", "sterndrive", "--length-m", "7.2", "--built", "2009", "--value", "38000"]
    assert CliRunner().invoke(app, ["begin", str(folder), *words]).exit_code == 0
    part = load_fleet(folder).items["item_id"][0]
    result = record("--item", part, "--event", "inspected", "--finding", "sound", path=folder)
    assert result.exit_code == 0, result.stderr
    assert "Added to fleet.xlsx sheet records row 2: " in result.stderr
    assert check_fleet(folder) == []
    assert load_fleet(folder).records["finding"].tolist() == ["sound"]


TWICE = ("--item", "W1", "--date", "2020-05-01", "--event", "replaced")


def test_the_same_again_is_refused_unless_it_is_meant(record, boats):
    assert record(*TWICE).exit_code == 0
    result = record(*TWICE, "--note", "typed again")
    assert (result.exit_code, result.stdout) == (3, "")
    assert "records.csv row 4: must not say again what row 3 says: give --again" in result.stderr
    assert lines(boats).count("replaced") == 1
    assert record(*TWICE, "--again").exit_code == 0
    assert lines(boats).count("replaced") == 2


def test_the_last_record_is_taken_back(record, boats):
    record(*TWICE)
    shown = record("--undo", "--dry-run")
    assert shown.stderr == "Would take back from records.csv row 3: W1,,2020-05-01,replaced,,,,,\n"
    assert lines(boats) != ""
    result = record("--undo")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr == "Took back from records.csv row 3: W1,,2020-05-01,replaced,,,,,\n"
    assert lines(boats) == ""
    again = record("--undo")
    assert again.exit_code == 3
    assert "must hold one table with a record that was added by `riskmodel record`" in again.stderr


def test_undo_after_a_change_of_the_table_is_refused(record, boats):
    record(*TWICE)
    (boats / "records.csv").write_text(OLD + "W1,,2020-05-01,replaced,,,,,mine\n")
    result = record("--undo", "--quiet")
    assert result.exit_code == 3
    assert "the table was changed since, take the row out by hand" in result.stderr
    assert lines(boats).endswith("mine\n")


@pytest.mark.parametrize("more", [("--item", "W1"), ("--ask",), ("--again",)])
def test_undo_goes_with_nothing_else(record, more):
    result = record("--undo", *more)
    assert result.exit_code == 2
    assert "--undo takes back the last record" in " ".join(result.stderr.split())
