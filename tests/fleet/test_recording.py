"""Adding a record to CSV tables: what is written, and what stays."""

import csv
import stat

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.errors import TableError
from riskmodel.fleet import add_record, check_fleet, load_fleet, preview_record
from riskmodel.safe_text import visible

LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected", "finding": "sound"}
SEMICOLONS = 'delimiter = ";"\ndecimal = ","\ndate_format = "%d.%m.%Y"\n'


def bytes_of(folder, name="records.csv"):
    return (folder / name).read_bytes()


def replaced(folder, content, name="records.csv"):
    (folder / name).write_bytes(content)
    return folder


def test_a_record_becomes_the_last_line_and_every_old_byte_stays(write, plain, today):
    folder = write(**plain)
    old = bytes_of(folder)
    added = add_record(folder, LOOK | {"hours": "130", "finding": ""}, today=today)
    assert bytes_of(folder) == old + b"W1,,2026-05-30,inspected,130\n"
    assert (added.file, added.row, added.line) == ("records.csv", 4, "W1,,2026-05-30,inspected,130")
    assert added.new_columns == ()
    assert load_fleet(folder, today=today).records["item_id"].tolist() == ["W1", "", "W1"]


def test_only_the_table_the_lock_and_the_memory_are_touched(write, plain, today):
    folder = write(**plain)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    add_record(folder, {"item_id": "W1", "event": "inspected"}, today=today)
    after = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert {name for name in after if after[name] != before.get(name)} == {
        "records.csv",
        ".records.csv.undo",
        ".records.lock",
    }


def test_without_a_date_it_happened_today(write, plain, today):
    added = add_record(write(**plain), {"vessel_id": "Wren", "event": "launched", "date": " "}, today=today)
    assert added.line == ",Wren,2026-06-01,launched,"


def test_the_row_is_numbered_as_the_spreadsheet_numbers_it(write, plain, today):
    folder = write(**plain)
    replaced(folder, bytes_of(folder) + b"\n,,,,\n\n")
    added = add_record(folder, LOOK, today=today)
    assert added.row == 7
    assert load_fleet(folder, today=today).records["source_row"].tolist() == [2, 3, 7]


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_mark_are_kept(write, plain, today, end, mark):
    folder = write(**plain)
    old = mark + bytes_of(folder).replace(b"\n", end)
    add_record(replaced(folder, old), {"item_id": "W1", "event": "tested"}, today=today)
    assert bytes_of(folder) == old + b"W1,,2026-06-01,tested," + end


@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_a_missing_end_of_the_last_line_is_repaired(write, plain, today, end):
    folder = write(**plain)
    old = bytes_of(folder).replace(b"\n", end).removesuffix(end)
    add_record(replaced(folder, old), {"item_id": "W1", "event": "tested"}, today=today)
    assert bytes_of(folder) == old + end + b"W1,,2026-06-01,tested," + end


def test_the_keepers_dialect_is_written(write, plain, today):
    records = "item_id;date;event;hours\nW1;01.05.2018;inspected;120,5\n"
    folder = write(
        vessels=plain["vessels"].replace(",", ";"),
        items=plain["items"].replace(",", ";"),
        records=records,
        settings=SEMICOLONS,
    )
    record = {"item_id": "W1", "date": "2026-05-30", "event": "tested", "hours": "130.25"}
    assert add_record(folder, record, today=today).line == "W1;30.05.2026;tested;130,25"
    assert add_record(folder, record | {"date": "31.05.2026", "hours": "131,5"}, today=today).line == (
        "W1;31.05.2026;tested;131,5"
    )
    assert (
        add_record(folder, record | {"date": "2026-05", "hours": ""}, today=today).line
        == "W1;2026-05;tested;"
    )
    assert check_fleet(folder, today=today) == []


def test_a_point_that_may_part_thousands_is_refused_where_the_comma_is_decimal(write, plain, today):
    folder = write(
        vessels=plain["vessels"].replace(",", ";"),
        items=plain["items"].replace(",", ";"),
        settings=SEMICOLONS,
    )
    with pytest.raises(TableError, match=r"hours must be a number with the decimal comma .* got 1\.234"):
        add_record(folder, LOOK | {"hours": "1.234"}, today=today)


def test_a_date_format_of_two_digit_years_never_moves_a_record_a_century(write, plain, today):
    folder = write(**plain | {"items": None, "records": None}, settings='date_format = "%d/%m/%y"\n')
    added = add_record(folder, {"vessel_id": "Wren", "date": "1958-05-01", "event": "bought"}, today=today)
    assert ",1958-05-01," in added.line


def test_own_words_for_events_are_written_as_the_keeper_writes_them(write, plain, today):
    folder = write(**plain, settings='[event_words]\n"looked at" = "inspected"\n')
    added = add_record(folder, LOOK | {"event": "Looked at"}, today=today)
    assert ",Looked at," in added.line
    assert load_fleet(folder, today=today).records["event"].tolist()[-1] == "inspected"


def test_own_columns_and_the_order_of_columns_stay(write, plain, today):
    records = 'Who, Event ,Item ID,Date,hours\nMo,inspected,W1,2018-05-01,"120"\n'
    folder = write(**plain | {"records": records})
    assert add_record(folder, LOOK | {"finding": ""}, today=today).line == ",inspected,W1,2026-05-30,"
    other = LOOK | {"finding": "", "who": "Jo", "date": "2026-05-31"}
    assert add_record(folder, other, today=today).line == "Jo,inspected,W1,2026-05-31,"
    assert bytes_of(folder).decode().startswith(records)


def test_a_keeper_who_quotes_every_cell_gets_quoted_cells(write, plain, today):
    folder = write(**plain | {"records": '"item_id","date","event"\n"W1","2018-05-01","inspected"\n'})
    add_record(folder, LOOK | {"finding": ""}, today=today)
    assert bytes_of(folder).endswith(b'"W1","2026-05-30","inspected"\n')


def test_missing_columns_are_added_at_the_end_with_empty_cells(write, plain, today):
    records = 'item_id,date,event,remarks\r\n\r\nW1,2018-05-01,inspected,"two\r\nlines, ""quoted"""\r\nW1,2019,tested,'
    folder = replaced(write(**plain), records.encode())
    added = add_record(folder, LOOK | {"reading": "3", "reading_unit": "drips/min"}, today=today)
    assert added.new_columns == ("finding", "reading", "reading_unit")
    assert bytes_of(folder).decode() == (
        "item_id,date,event,remarks,finding,reading,reading_unit\r\n\r\n"
        'W1,2018-05-01,inspected,"two\r\nlines, ""quoted""",,,\r\nW1,2019,tested,,,,\r\n'
        "W1,2026-05-30,inspected,,sound,3,drips/min\r\n"
    )


def test_a_fleet_without_records_gets_a_table_of_every_column(write, plain, today):
    folder = write(**plain | {"records": None})
    assert add_record(folder, LOOK, today=today).row == 2
    head = "item_id,vessel_id,date,hours,event,finding,thoroughness,reason,reading,reading_unit,note"
    assert bytes_of(folder).decode() == f"{head}\nW1,,2026-05-30,,inspected,sound,,,,,\n"


def test_a_table_of_a_head_only_takes_its_first_record(write, plain, today):
    folder = write(**plain | {"records": "item_id,date,event"})
    assert add_record(folder, LOOK | {"finding": ""}, today=today).row == 2


def test_a_table_whose_name_is_in_capitals_is_the_one_added_to(write, plain, today):
    folder = write(**plain)
    (folder / "records.csv").rename(folder / "Records.CSV")
    assert add_record(folder, LOOK | {"finding": ""}, today=today).file == "Records.CSV"
    assert not (folder / "records.csv").exists()


def test_permissions_stay(write, plain, today):
    folder = write(**plain)
    (folder / "records.csv").chmod(0o640)
    add_record(folder, LOOK, today=today)
    assert stat.S_IMODE((folder / "records.csv").stat().st_mode) == 0o640


def test_a_linked_table_is_changed_where_it_lies(write, plain, today, tmp_path):
    folder = write(**plain)
    real = (folder / "records.csv").rename(tmp_path / "elsewhere.csv")
    (folder / "records.csv").symlink_to(real)
    add_record(folder, LOOK, today=today)
    assert (folder / "records.csv").is_symlink()
    assert b"W1,,2026-05-30" in real.read_bytes()


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    note=st.text(
        st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cn"]) | st.sampled_from(",;\"'\n\t")
    )
)
def test_any_plain_note_comes_back_as_it_was_given(write, plain, today, note):
    folder = write(**plain)
    add_record(folder, LOOK | {"note": note}, today=today)
    # On the disk to the letter; read in on one line, with marks for what could steer a screen.
    with (folder / "records.csv").open(newline="", encoding="utf-8") as file:
        assert list(csv.DictReader(file))[-1].get("note", "") == note.strip()
    assert load_fleet(folder, today=today).records["note"].tolist()[-1] == visible(note.strip())


def test_a_preview_says_the_same_and_writes_nothing(write, plain, today):
    folder = write(**plain)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    seen = preview_record(folder, LOOK, today=today)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert add_record(folder, LOOK, today=today) == seen
