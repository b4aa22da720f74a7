"""Every trade table an organisation can lay over ours is refused, where damaged, by file, row, column and rule."""

from __future__ import annotations

import csv
from importlib.resources import files
from pathlib import Path

import pytest

from riskmodel.errors import TableError
from riskmodel.risk.checking import wholly_checked
from riskmodel.trade import load_trade
from riskmodel.trade.rules import ALL_TABLES

NAMES = sorted(rules.name for rules in ALL_TABLES)


def shipped(name: str) -> str:
    return files("riskmodel.data.trade").joinpath(f"{name}.csv").read_text("utf-8")


def problems(folder: Path) -> list[str]:
    with pytest.raises(TableError, match=r"\w") as refusal:
        load_trade(folder)
    return [str(problem) for problem in refusal.value.problems]


def test_every_table_that_ships_has_rules() -> None:
    there = {
        Path(entry.name).stem
        for entry in files("riskmodel.data.trade").iterdir()
        if entry.name.endswith(".csv")
    }
    assert there == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_table_laid_over_itself_is_accepted(tmp_path: Path, name: str) -> None:
    (tmp_path / f"{name}.csv").write_text(shipped(name), "utf-8")
    load_trade(tmp_path)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le"])
def test_another_encoding_is_named_with_its_row(tmp_path: Path, name: str, encoding: str) -> None:
    (tmp_path / f"{name}.csv").write_text(shipped(name), encoding)
    assert problems(tmp_path)[0].startswith(f"{tmp_path}/{name}.csv row 1: must be saved as UTF-8 text")


@pytest.mark.parametrize("name", NAMES)
def test_a_missing_cell_and_a_column_dropped_are_named(tmp_path: Path, name: str) -> None:
    head, row, *_ = csv.reader(shipped(name).splitlines())
    path = tmp_path / f"{name}.csv"
    path.write_text(f"{','.join(head)}\n{'x,' * (len(row) - 2)}x\n", "utf-8")
    assert problems(tmp_path) == [
        f"{path} row 2: must have as many cells as the head, got {len(row) - 1} for {len(row)}"
    ]
    path.write_text(",".join(head[1:]) + "\n", "utf-8")
    assert problems(tmp_path)[0].startswith(f"{path} row 1: must have the columns {', '.join(head)}, got ")


@pytest.mark.parametrize("name", NAMES)
def test_a_cell_that_no_column_can_hold_is_named_by_row_and_column(tmp_path: Path, name: str) -> None:
    rows = list(csv.DictReader(shipped(name).splitlines()))
    path = tmp_path / f"{name}.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerow(rows[0] | {"status": "guess"})
    assert problems(tmp_path)[0].startswith(f"{path} row 2: status must be one of published")


@pytest.mark.parametrize("kind", ["folder", "link"])
def test_what_has_a_tables_name_and_is_no_file_is_refused(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "limits.csv"
    if kind == "folder":
        path.mkdir()
    else:
        path.symlink_to("nowhere")
    assert problems(tmp_path)[0].startswith(f"{path}: must be a plain file, got a ")


@pytest.mark.parametrize(
    "name", ["limit.csv", "Limits.csv", "limits.CSV", "limits.xlsx", "limits.csv.txt", "limits"]
)
def test_a_file_that_is_no_table_by_name_is_refused_with_the_nearest(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(shipped("limits"), "utf-8")
    (found,) = problems(tmp_path)
    assert found.startswith(f"{tmp_path}/{name}: must be named as a trade table: background.csv, ")
    assert found.endswith(f"(nearest: limits.csv), got {name}")


@pytest.mark.parametrize("name", [".DS_Store", "~$limits.csv", "README", "why.md"])
def test_what_is_plainly_no_table_is_left_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("words", "utf-8")
    load_trade(tmp_path)


@pytest.mark.parametrize("cell", ["1e16", "1e308"])
def test_numbers_beyond_all_reason_are_refused(tmp_path: Path, cell: str) -> None:
    row = f"bellows_drive,renew_by,lets_go,1,{cell},years,us,judgement,"
    (tmp_path / "intervals.csv").write_text(f"{shipped('intervals').splitlines()[0]}\n{row}\n", "utf-8")
    assert any("high must be at most 1e+15" in each for each in problems(tmp_path))


@pytest.mark.parametrize("name", NAMES)
def test_check_finds_what_is_wrong_with_any_table_beside_what_is_wrong_with_the_fleet(
    written, tmp_path: Path, name: str
) -> None:
    from riskmodel.fleet import load_fleet

    folder = written([{"item_class": "bilge_pump", "quantity": 0}], settings='trade = "ours"\n')
    (folder / "ours").mkdir()
    (folder / "ours" / f"{name}.csv").write_text("wrong\n", "utf-8")
    with pytest.raises(TableError, match=rf"{name}\.csv row 1: must have the columns") as refusal:
        wholly_checked(lambda: load_fleet(folder), folder)
    files_named = [Path(problem.file).name for problem in refusal.value.problems]
    assert files_named.count(f"{name}.csv") == 1
