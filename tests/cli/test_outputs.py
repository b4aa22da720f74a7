"""Where answers go: never over the fleet's own files, harmless to screens and spreadsheets, whole or not at all."""

import errno
import os
import shutil
import subprocess
import sys

import openpyxl
import pandas as pd
import pytest

pytestmark = pytest.mark.thorough

ESCAPE = "\x1b[1A\x1b[2K"


@pytest.fixture
def own(small, tmp_path):
    """A copy of the small fleet that a test may spoil."""
    return shutil.copytree(small, tmp_path / "fleet")


@pytest.fixture(scope="module")
def hostile(written):
    """A boat whose name steers the screen and whose part's position is a formula."""
    items = [
        {"item_id": "=1+1", "item_class": "bilge_pump", "position": "=HYPERLINK(A1)", "installed_on": "2009"},
        {
            "item_id": "B",
            "item_class": "bellows_drive",
            "recall": f"notice{ESCAPE}gone",
            "installed_on": "2016",
        },
    ]
    records = [
        {
            "item_id": "B",
            "date": "2025-05-01",
            "event": "inspected",
            "finding": "failing",
            "note": f"{ESCAPE}x",
        }
    ]
    boats = [
        {"vessel_id": "B1", "name": f"Wren{ESCAPE}\u202emoc", "propulsion": "sterndrive", "value": 30000}
    ]
    return written(items, boats=boats, records=records, settings="as_of = 2026-06-01\n")


@pytest.mark.parametrize(
    "words",
    [
        ("rank",),
        ("rank", "--levels"),
        ("budget", "--amount", 100),
        ("exposure",),
        ("explain", "B"),
        ("lives", "--rows"),
        ("check",),
        ("season", "B1"),
    ],
)
def test_nothing_of_a_table_steers_the_screen(run, hostile, words):
    command, *rest = words
    where = [hostile, rest.pop(0)] if command in ("explain", "season") else [hostile]
    for form in ("table", "csv", "json"):
        result = run(command, *where, *rest, "--format", form)
        assert result.exit_code in (0, 5), result.output
        assert not set(result.stdout + result.stderr) & set("\x1b\u202e\x07"), form


def test_a_broken_cell_is_shown_with_its_marks(run, written):
    items = [{"item_class": f"bilge{ESCAPE}"}]
    result = run("check", written(items, settings="as_of = 2026-06-01\n"))
    assert result.exit_code == 3
    assert "bilge<U+001B>[1A<U+001B>[2K" in result.stdout
    assert "\x1b" not in result.stdout + result.stderr


def test_csv_holds_no_formula_unless_asked_raw(run, hostile, tmp_path):
    safe, raw = tmp_path / "safe.csv", tmp_path / "raw.csv"
    assert run("rank", hostile, "--format", "csv", "--out", safe).exit_code == 0
    assert run("rank", hostile, "--format", "csv", "--out", raw, "--raw").exit_code == 0
    texts = pd.read_csv(safe, dtype=str, keep_default_na=False)
    assert not texts.map(lambda cell: cell.startswith(("=", "@"))).any(axis=None)
    assert set(texts["item_id"]) == {"'=1+1", "B"}
    assert set(pd.read_csv(raw, dtype=str)["item_id"]) == {"=1+1", "B"}


def test_a_file_of_problems_holds_no_formula_unless_asked_raw(run, written, tmp_path):
    folder = written([{"item_class": "=1+1"}], settings="as_of = 2026-06-01\n")
    for words, value in (((), "'=1+1"), (("--raw",), "=1+1")):
        out = tmp_path / f"{len(words)}.csv"
        assert run("check", folder, "--bad-rows", out, *words).exit_code == 3
        assert value in pd.read_csv(out, dtype=str)["value"].tolist()


@pytest.mark.parametrize("name", ["items.csv", "ITEMS.CSV", "claims.csv", "vessels.parquet", "settings.toml"])
def test_no_answer_is_written_where_it_would_be_read_as_the_fleet(run, own, name):
    before = {path.name: path.read_bytes() for path in own.iterdir()}
    for words in (("--format", "csv"), ("--format", "csv", "--force")):
        result = run("rank", own, "--out", own / name, *words)
        assert result.exit_code == 2
        assert "of this fleet: give another name" in " ".join(result.stderr.replace("│", " ").split())
    assert {path.name: path.read_bytes() for path in own.iterdir()} == before


def test_nor_through_a_link_or_among_the_trades_own_tables(run, own, tmp_path):
    (own / "own-trade").mkdir()
    with (own / "settings.toml").open("a") as file:
        file.write('trade = "own-trade"\n')
    (tmp_path / "elsewhere.csv").hardlink_to(own / "items.csv")
    for out in (tmp_path / "elsewhere.csv", own / "own-trade" / "tasks.csv"):
        result = run("check", own, "--bad-rows", out, "--force")
        assert result.exit_code == 2, result.output


def test_a_plan_beside_the_tables_is_no_table(run, own):
    for table in ("vessels", "items"):
        (own / f"{table}.csv").rename(own / f"{table}.csv.old")
    for name in [path for path in own.iterdir() if path.suffix == ".csv"]:
        name.unlink()
    with pd.ExcelWriter(own / "mine.xlsx") as writer:
        for table in ("vessels", "items"):
            pd.read_csv(own / f"{table}.csv.old").to_excel(writer, sheet_name=table, index=False)
    assert run("budget", own, "--amount", 9000, "--out", own / "plan.xlsx").exit_code in (0, 5)
    assert run("rank", own, "--quiet").exit_code == 0
    # Again, over our own; over the keeper's never.
    assert run("budget", own, "--amount", 9000, "--out", own / "plan.xlsx", "--force").exit_code in (0, 5)
    result = run("budget", own, "--amount", 9000, "--out", own / "mine.xlsx", "--force")
    assert result.exit_code == 2
    assert openpyxl.load_workbook(own / "mine.xlsx").sheetnames == ["vessels", "items"]


def test_a_full_disk_is_one_message_and_no_file(run, small, tmp_path, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    result = run("rank", small, "--out", tmp_path / "out.txt")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1].endswith(
        "out.txt: No space left on device: free some space there, or name a file on another disk."
    )
    assert list(tmp_path.iterdir()) == []


def by_shell(small, redirect):
    code = """if True:
        from importlib.metadata import entry_points
        (riskmodel,) = entry_points(group="console_scripts", name="riskmodel")
        riskmodel.load()()
    """
    command = f'"{sys.executable}" -c "$CODE" rank "$FLEET" --quiet {redirect}'
    return subprocess.run(
        ["sh", "-c", command],
        env={**os.environ, "FLEET": str(small), "CODE": code},
        capture_output=True,
        text=True,
        timeout=120,
    )


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="the system has no device that is always full")
def test_a_full_screen_is_one_message(small):
    result = by_shell(small, "> /dev/full")
    assert result.returncode == 2
    assert "give --out FILE" in result.stderr
    assert "Exception ignored" not in result.stderr


@pytest.mark.skipif(os.name != "posix", reason="only such a shell closes a descriptor")
def test_a_closed_screen_is_one_message(small):
    result = by_shell(small, ">&-")
    assert result.returncode == 2
    assert "give --out FILE" in " ".join(result.stderr.replace("│", " ").split())


@pytest.mark.skipif(os.name != "posix", reason="only such a shell joins commands so")
def test_a_reader_that_goes_away_is_no_fault(small):
    result = by_shell(small, "--top 500 | head -1")
    assert result.stderr == ""
    assert len(result.stdout.splitlines()) == 1
