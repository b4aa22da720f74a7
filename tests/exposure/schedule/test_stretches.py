"""A table is read whole and in order however it is cut, and a file that cannot be read says so."""

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.errors import TableError
from riskmodel.exposure.schedule.stretches import MOST_STRETCHES, batches, open_parquet, stretches_of


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(1, 200), st.integers(1, 200), st.integers(1, 60))
def test_every_row_is_read_once_with_its_number(tmp_path, rows, group, most):
    path = tmp_path / "vessels.parquet"
    pq.write_table(pa.table({"n": np.arange(rows)}), path, row_group_size=group)
    pieces = stretches_of(path, most)
    read = [some for piece in pieces for some in batches(path, piece, most)]
    assert max(len(table) for table, _ in read) <= most
    assert sum(piece.rows for piece in pieces) == rows
    np.testing.assert_array_equal(np.concatenate([table["n"] for table, _ in read]), np.arange(rows))
    np.testing.assert_array_equal(np.concatenate([numbers for _, numbers in read]), np.arange(rows) + 2)


def test_one_row_group_keeps_several_processes_busy(tmp_path):
    pq.write_table(pa.table({"n": np.arange(1000)}), tmp_path / "t.parquet")
    assert len(stretches_of(tmp_path / "t.parquet", 10)) == MOST_STRETCHES
    pq.write_table(pa.table({"n": np.arange(0)}), tmp_path / "t.parquet")
    assert stretches_of(tmp_path / "t.parquet") == []


def test_a_file_that_is_none_or_is_damaged_is_one_clear_problem(tmp_path):
    path = tmp_path / "vessels.parquet"
    path.write_text("vessel_id,value\n")
    with pytest.raises(TableError, match=r"^vessels\.parquet: must be a Parquet file, got"):
        open_parquet(path)
    pq.write_table(pa.table({"n": np.arange(50_000)}), path, compression="zstd", use_dictionary=False)
    whole = bytearray(path.read_bytes())
    whole[100:20_000] = b"\xff" * 19_900
    path.write_bytes(whole)
    with pytest.raises(TableError, match=r"^vessels\.parquet: must be a Parquet file, got"):
        list(batches(path, stretches_of(path)[0]))


def test_nested_columns_are_refused(tmp_path):
    path = tmp_path / "items.parquet"
    pq.write_table(pa.table({"item_id": ["a"], "looks": [[1, 2]]}), path)
    with pytest.raises(TableError, match=r"items\.parquet: looks must hold plain values, got list"):
        open_parquet(path)
