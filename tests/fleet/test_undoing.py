"""Taking the last record back: every byte as it was, or a refusal that leaves the table alone."""

import os
import stat

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.errors import TableError
from riskmodel.fleet import (
    Repeat,
    add_record,
    check_fleet,
    load_fleet,
    preview_taking_back,
    take_back_record,
    undo_file,
)
from riskmodel.fleet import undo_file as memory

LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected", "finding": "sound"}
MEMORY = ".records.csv.undo"


def content(folder, name="records.csv"):
    return (folder / name).read_bytes()


def book_of(plain, folder, tables=("vessels", "items", "records")):
    folder.mkdir()
    with xlsxwriter.Workbook(str(folder / "boats.xlsx")) as book:
        for name in tables:
            sheet = book.add_worksheet(name)
            for row, line in enumerate(plain[name].splitlines()):
                sheet.write_row(row, 0, line.split(","))
    return folder


def test_the_last_record_is_taken_back_and_told_of(write, plain, today):
    folder = write(**plain)
    old = content(folder)
    add_record(folder, LOOK, today=today)
    told = take_back_record(folder)
    assert (told.file, told.row, told.line) == ("records.csv", 4, "W1,,2026-05-30,inspected,,sound")
    assert content(folder) == old
    assert not (folder / MEMORY).exists()


@pytest.mark.parametrize("kept", [("vessels", "items", "records"), ("vessels", "items")])
def test_a_workbook_comes_back_byte_for_byte(plain, today, tmp_path, kept):
    folder = book_of(plain, tmp_path / "book", kept)
    old = content(folder, "boats.xlsx")
    add_record(folder, LOOK, today=today)
    assert content(folder, "boats.xlsx") != old
    assert check_fleet(folder, today=today) == []
    take_back_record(folder)
    assert content(folder, "boats.xlsx") == old


def test_parquet_comes_back_byte_for_byte(write, plain, today):
    folder = write(**plain | {"records": None})
    columns = {"item_id": ["W1"], "date": ["2018-05-01"], "event": ["inspected"]}
    pq.write_table(pa.table(columns), folder / "records.parquet")
    old = content(folder, "records.parquet")
    add_record(folder, LOOK, today=today)
    take_back_record(folder)
    assert content(folder, "records.parquet") == old


def test_a_table_that_the_record_began_goes_with_it(write, plain, today):
    folder = write(**plain | {"records": None})
    add_record(folder, LOOK, today=today)
    take_back_record(folder)
    assert not (folder / "records.csv").exists()


CELL = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=8)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    notes=st.lists(CELL, max_size=4),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    mark=st.sampled_from([b"", b"\xef\xbb\xbf"]),
    delimiter=st.sampled_from([",", ";"]),
    last=st.booleans(),
    hours=st.sampled_from(["", "130"]),
)
def test_adding_and_taking_back_is_as_if_nothing_had_been(
    write, plain, today, notes, end, mark, delimiter, last, hours
):
    lines = [delimiter.join(["item_id", "date", "event", "note"])]
    for note in notes:
        cell = '"' + note.replace('"', '""') + '"'
        lines.append(delimiter.join(["W1", "2018-05-01", "inspected", cell]))
    folder = write(
        vessels=plain["vessels"].replace(",", delimiter),
        items=plain["items"].replace(",", delimiter),
        settings=f'delimiter = "{delimiter}"\n',
    )
    old = mark + (end.join(lines) + (end if last else "")).encode()
    (folder / "records.csv").write_bytes(old)
    (folder / MEMORY).unlink(missing_ok=True)
    add_record(folder, LOOK | {"finding": "", "hours": hours, "note": "new"}, today=today)
    assert content(folder) != old
    take_back_record(folder)
    assert content(folder) == old


def test_only_the_last_record_is_taken_back_and_once(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    old = content(folder)
    add_record(folder, LOOK | {"date": "2026-05-31"}, today=today)
    take_back_record(folder)
    assert content(folder) == old
    with pytest.raises(TableError, match=r"must hold one table with a record that was added .* got none"):
        take_back_record(folder)
    assert content(folder) == old


def test_a_table_that_was_changed_since_is_left_alone(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    theirs = content(folder).replace(b",120", b",121")
    (folder / "records.csv").write_bytes(theirs)
    with pytest.raises(TableError, match=r"records.csv: must be as the last record left it \(W1,,2026-05-30"):
        take_back_record(folder)
    assert content(folder) == theirs


def test_a_crash_between_the_memory_and_the_table_takes_nothing_back(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    old = content(folder)
    memory.remember(folder / "records.csv", old + b"W1,,2026-05-31,tested,\n", memory.Remembered("f", 5, "x"))
    with pytest.raises(TableError, match="must be as the last record left it"):
        take_back_record(folder)
    assert content(folder) == old


@pytest.mark.parametrize("broken", [b"", b"{}\nx", b"[1]\n", b"\xff\xfe\n", b'{"format": 1}'])
def test_a_broken_memory_is_a_refusal(write, plain, today, broken):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    old = content(folder)
    (folder / MEMORY).write_bytes(broken)
    with pytest.raises(TableError, match=r"\.records\.csv\.undo: must be as `riskmodel record` wrote it"):
        take_back_record(folder)
    assert content(folder) == old


def test_a_memory_whose_old_bytes_were_tampered_with_is_a_refusal(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    told, _, _ = content(folder, MEMORY).partition(b"\n")
    (folder / MEMORY).write_bytes(told + b"\n" + memory.zlib.compress(b"other"))
    with pytest.raises(TableError, match="must be as `riskmodel record` wrote it"):
        take_back_record(folder)


def test_a_table_open_in_a_spreadsheet_program_is_left_alone(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    (folder / ".~lock.records.csv#").touch()
    with pytest.raises(TableError, match="must be closed in the spreadsheet program first"):
        take_back_record(folder)


def test_a_preview_writes_nothing(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert preview_taking_back(folder).row == 4
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_the_memory_is_no_table(write, plain, today):
    folder = write(**plain)
    add_record(folder, LOOK, today=today)
    assert check_fleet(folder, today=today) == []
    assert len(load_fleet(folder, today=today).records) == 3


@pytest.mark.skipif(os.name == "nt", reason="the system has no such permissions")
def test_who_may_not_read_the_table_may_not_read_its_memory(write, plain, today):
    folder = write(**plain)
    os.chmod(folder / "records.csv", 0o600)
    add_record(folder, LOOK, today=today)
    assert stat.S_IMODE((folder / MEMORY).stat().st_mode) == 0o600


def test_two_folders_that_link_to_one_table_share_its_lock_and_its_memory(write, plain, today, tmp_path):
    one = write(**plain)
    other = tmp_path / "other"
    other.mkdir()
    for name in ("vessels.csv", "items.csv"):
        (other / name).write_bytes(content(one, name))
    try:
        (other / "records.csv").symlink_to(one / "records.csv")
    except OSError:
        pytest.skip("the system lets nobody make a link")
    old = content(one)
    from riskmodel.fleet.locks import only_writer
    from riskmodel.fleet.records_files import records_folders

    assert records_folders(one) == records_folders(other) == {one.resolve()}
    with (
        only_writer(*records_folders(one)),
        pytest.raises(TableError, match="got held"),
        only_writer(*records_folders(other), patience=0),
    ):
        pass
    add_record(other, LOOK, today=today)
    assert (other / "records.csv").is_symlink()
    assert sorted(path.name for path in other.iterdir()) == ["items.csv", "records.csv", "vessels.csv"]
    take_back_record(one)
    assert content(one) == content(other) == old


def test_a_hard_link_is_told_of_and_neither_name_loses_a_record(write, plain, today, tmp_path):
    folder = write(**plain)
    try:
        os.link(folder / "records.csv", tmp_path / "records.csv")
    except OSError:
        pytest.skip("the system lets nobody make a link")
    old = content(folder)
    added = add_record(folder, LOOK, today=today)
    assert "records.csv was one file under 2 names" in added.notes[0]
    assert (tmp_path / "records.csv").read_bytes() == old
    assert add_record(folder, LOOK, today=today, repeat=Repeat.MEANT).notes == ()


def test_bytes_in_common_are_found_at_both_ends():
    assert [undo_file._alike(*pair) for pair in ((b"", b"a"), (b"abc", b"abd"), (b"ab", b"abc"))] == [0, 2, 2]
