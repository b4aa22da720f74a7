"""Adding a record to a Parquet table: the new row, and the schema as it was."""

import datetime

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from riskmodel.errors import TableError
from riskmodel.fleet import add_record, check_fleet, load_fleet

LOOK = {"item_id": "W1", "date": "2026-05-30", "event": "inspected", "hours": "130.50"}


@pytest.fixture
def typed(write, plain, today):
    """A fleet whose records are a Parquet table of these columns."""

    def written(columns, **options):
        folder = write(**plain | {"records": None})
        pq.write_table(pa.table(columns), folder / "records.parquet", **options)
        return folder

    return written


COLUMNS = {
    "hours": pa.array([120], pa.int32()),
    "item_id": pa.array(["W1"]).dictionary_encode(),
    "date": pa.array([datetime.date(2018, 5, 1)]),
    "event": pa.array(["inspected"], pa.large_string()),
    "mine": pa.array([True]),
}


def test_a_parquet_table_keeps_its_schema(typed, today):
    folder = typed(COLUMNS, compression="zstd")
    before = pq.read_schema(folder / "records.parquet")
    added = add_record(folder, LOOK | {"hours": "130"}, today=today)
    assert (added.file, added.row, added.line) == ("records.parquet", 3, "130,W1,2026-05-30,inspected,")
    after = pq.ParquetFile(folder / "records.parquet")
    assert after.schema_arrow == before
    assert after.metadata.row_group(0).column(0).compression == "ZSTD"
    assert pq.read_table(folder / "records.parquet").to_pylist()[1] == {
        "hours": 130,
        "item_id": "W1",
        "date": datetime.date(2026, 5, 30),
        "event": "inspected",
        "mine": None,
    }
    assert check_fleet(folder, today=today) == []


def test_a_parquet_table_gets_missing_columns_and_types_for_empty_ones(typed, today):
    folder = typed(COLUMNS | {"finding": pa.nulls(1)})
    record = LOOK | {"hours": "130", "finding": "sound", "reading": "2.5", "note": "dry"}
    assert add_record(folder, record, today=today).new_columns == ("reading", "note")
    frame = pd.read_parquet(folder / "records.parquet")
    assert frame["reading"].tolist()[1] == 2.5
    assert frame["finding"].tolist() == [None, "sound"]


def test_a_parquet_table_written_by_pandas_is_still_read_by_it(write, plain, today):
    folder = write(**plain | {"records": None})
    frame = pd.DataFrame({"item_id": ["W1"], "date": pd.to_datetime(["2018-05-01"]), "event": ["inspected"]})
    frame.to_parquet(folder / "records.parquet")
    add_record(folder, LOOK | {"hours": ""}, today=today)
    assert len(pd.read_parquet(folder / "records.parquet")) == 2
    assert len(load_fleet(folder, today=today).records) == 2


def test_what_a_parquet_column_cannot_hold_is_refused(typed, today):
    folder = typed(COLUMNS)
    old = (folder / "records.parquet").read_bytes()
    with pytest.raises(
        TableError, match=r"records.parquet row 3: hours must be such as its column holds \(int32\)"
    ):
        add_record(folder, LOOK, today=today)
    with pytest.raises(TableError, match=r"row 3: date must be such as its column holds .*, got 2026-05"):
        add_record(folder, LOOK | {"date": "2026-05", "hours": ""}, today=today)
    assert (folder / "records.parquet").read_bytes() == old


def test_a_column_of_a_parquet_table_that_allows_no_gap_is_respected(typed, today):
    folder = typed(COLUMNS)
    table = pq.read_table(folder / "records.parquet")
    strict = table.cast(table.schema.set(4, pa.field("mine", pa.bool_(), nullable=False)))
    pq.write_table(strict, folder / "records.parquet")
    with pytest.raises(
        TableError, match=r"mine must be such as its column holds \(bool, never empty\), got nothing"
    ):
        add_record(folder, LOOK | {"hours": "130"}, today=today)
    assert add_record(folder, LOOK | {"hours": "130", "mine": "true"}, today=today).row == 3
