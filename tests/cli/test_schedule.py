"""A schedule too large to be assessed boat by boat, on the command line."""

import contextlib
import csv
import datetime
import io

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from riskmodel.cli import schedules

from riskmodel.evaluate.synthetic_book import write_synthetic_book
from riskmodel.exposure.schedule import door, running

DAY = datetime.date(2026, 6, 1)
BOATS = 60
SEEN = ("--as-of", "2026-06-01")


@pytest.fixture
def large(monkeypatch):
    """Sixty boats are too many to be assessed one by one, and one process reads them."""
    monkeypatch.setattr(door, "LARGE", BOATS - 1)
    monkeypatch.setattr(door, "TOO_LARGE", BOATS - 1)
    whole = running.by_processes
    monkeypatch.setattr(running, "by_processes", lambda *_: whole(1))


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sound")
    write_synthetic_book(folder, BOATS, 3, as_of=DAY)
    return folder


@pytest.fixture(scope="module")
def broken(sound, tmp_path_factory):
    """The same with a boat of no value, a part of no class and a part of no boat; two other parts under recall."""
    folder = tmp_path_factory.mktemp("broken")
    vessels, items = (pq.read_table(sound / f"{name}.parquet").to_pandas() for name in ("vessels", "items"))
    vessels["value"] = vessels["value"].astype(object)
    vessels.loc[3, "value"] = None
    items = items.astype({"item_class": object})
    items.loc[30, "item_class"] = "bilge_pmp"
    items.loc[90, "vessel_id"] = "nobody's"
    items["recall"] = ""
    items.loc[[150, 151, 31], "recall"] = "R-17"
    pq.write_table(pa.Table.from_pandas(vessels), folder / "vessels.parquet")
    pq.write_table(pa.Table.from_pandas(items), folder / "items.parquet")
    return folder


def test_check_has_the_same_page_for_a_schedule(run, sound, request):
    loaded = run("check", sound, *SEEN)
    request.getfixturevalue("large")
    result = run("check", sound, *SEEN)
    assert (result.exit_code, result.stderr) == (0, loaded.stderr)
    # Defaults of parts are not counted at this size.
    lines = [line for line in loaded.stdout.splitlines() if not line.startswith("items ")]
    assert " ".join(result.stdout.split()) == " ".join(" ".join(lines).split())
    assert "60 vessels, 180 items, 0 records: no problems." in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


@pytest.mark.usefixtures("large")
def test_check_tells_every_problem_of_a_schedule(run, broken, tmp_path):
    result = run("check", broken, *SEEN, "--bad-rows", tmp_path / "bad.csv")
    assert result.exit_code == 3
    assert "vessels.parquet row 5: value must be given, got nothing" in result.stdout
    assert "items.parquet row 32: item_class must be" in result.stdout
    assert "items.parquet row 92: vessel_id must be in the vessels table, got nobody's" in result.stdout
    assert "3 problems. Nothing was read in and nothing was written." in result.stdout
    with (tmp_path / "bad.csv").open(newline="") as file:
        assert [row["row"] for row in csv.DictReader(file)] == ["5", "32", "92"]
    assert run("check", broken, *SEEN, "--format", "csv").stdout.count("\n") == 4


@pytest.mark.usefixtures("large")
def test_strict_takes_notes_for_warnings(run, sound):
    assert run("check", sound, *SEEN, "--strict").exit_code == 4


@pytest.mark.usefixtures("large")
def test_a_schedule_with_broken_rows_is_refused(run, broken):
    result = run("exposure", broken, *SEEN)
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr.count("\n") == 3
    assert "Traceback" not in result.stderr


@pytest.mark.usefixtures("large")
@pytest.mark.parametrize("command", ["check", "exposure"])
def test_a_file_that_is_no_parquet_is_refused_in_one_line(run, tmp_path, command):
    (tmp_path / "vessels.parquet").write_text("vessel_id,value\n")
    result = run(command, tmp_path)
    assert result.exit_code == 3
    assert "vessels.parquet: must be a Parquet file, got" in result.output
    assert "Traceback" not in result.output


@pytest.mark.usefixtures("large")
def test_no_scheduler_at_the_address_is_a_usage_error(run, sound, monkeypatch):
    on_dask = pytest.importorskip("riskmodel.exposure.schedule.on_dask")
    pytest.importorskip("distributed")
    monkeypatch.setattr(on_dask, "PATIENCE", "0.5s")
    result = run("exposure", sound, *SEEN, "--cluster", "tcp://127.0.0.1:9")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1].startswith("no Dask scheduler answers at tcp://127.0.0.1:9")


@pytest.mark.usefixtures("large")
def test_an_interrupt_leaves_no_answer_and_no_folder(run, sound, tmp_path, monkeypatch):
    told = []

    def stop(*words):
        told.append(words)
        if words[0] == "parts":
            raise KeyboardInterrupt

    monkeypatch.setattr(schedules, "progress", lambda _: contextlib.nullcontext(stop))
    result = run("exposure", sound, *SEEN, "--work-folder", tmp_path, "--out", tmp_path / "page.txt")
    assert told == [("boats", BOATS, BOATS), ("parts", 3 * BOATS, 3 * BOATS)]
    assert result.exit_code == 130
    assert list(tmp_path.iterdir()) == []


@pytest.mark.thorough
@pytest.mark.usefixtures("large")
def test_it_goes_on_without_broken_boats_and_says_so_after_the_known_defects(run, broken, tmp_path):
    result = run("exposure", broken, *SEEN, "--skip-bad", "--bad-rows", tmp_path / "bad.csv")
    assert result.exit_code == 0, result.output
    blocks = [" ".join(block.split()) for block in result.stdout.split("\n\n")]
    assert blocks[1].startswith("KNOWN DEFECTS: 2 parts under recall.")
    assert blocks[2].startswith(
        "LEFT OUT: 2 of 60 boats, 1 of them of a value that cannot be read and the others worth"
    )
    assert "for 3 broken rows in vessels.parquet, items.parquet." in blocks[2]
    assert "Of no boat of the schedule: 1 broken row" in blocks[2]
    assert max(map(len, result.stdout.splitlines())) <= 80
    rows = run("exposure", broken, *SEEN, "--skip-bad", "--format", "csv", "--strict")
    assert rows.exit_code == 4
    left = {
        (row["table"], row["figure"]): float(row["value"])
        for row in csv.DictReader(io.StringIO(rows.stdout))
        if row["table"] in ("left out", "known defects")
    }
    assert left[("known defects", "parts")] == 2
    assert (left[("left out", "boats")], left[("left out", "rows_items")]) == (2, 7)
