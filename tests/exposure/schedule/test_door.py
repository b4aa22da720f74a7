"""Which folders are read as schedules, and what must not lie in one unseen."""

import datetime

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from riskmodel.errors import TableError
from riskmodel.exposure.schedule.door import LARGE, TOO_LARGE, is_schedule, is_too_large, open_schedule

TODAY = datetime.date(2026, 6, 1)


@pytest.fixture
def folder(tmp_path):
    """A folder of so many boats, with other files beside them."""

    def make(boats, *others, settings=None):
        ids = pa.array([str(n) for n in range(boats)])
        pq.write_table(pa.table({"vessel_id": ids}), tmp_path / "vessels.parquet")
        for name in others:
            (tmp_path / name).write_text("item_id\n")
        if settings is not None:
            (tmp_path / "settings.toml").write_text(settings)
        return tmp_path

    return make


def test_a_large_table_of_boats_is_a_schedule(folder, tmp_path):
    assert not is_schedule(tmp_path / "nowhere")
    assert not is_schedule(folder(LARGE))
    assert is_schedule(folder(LARGE + 1))
    assert not is_too_large(folder(TOO_LARGE))
    assert is_too_large(folder(TOO_LARGE + 1))


@pytest.mark.parametrize(
    "name", ["records.csv", "periods.parquet", "claims.csv", "items.csv", "Items.parquet"]
)
def test_tables_a_schedule_cannot_hold_keep_it_boat_by_boat_and_are_refused_beyond(folder, name):
    assert not is_schedule(folder(LARGE + 1, name))
    assert is_schedule(folder(TOO_LARGE + 1, name))
    assert not is_too_large(folder(TOO_LARGE + 1, name))
    with pytest.raises(TableError, match=rf"^{name}: must not stand beside vessels\.parquet"):
        open_schedule(folder(1, name), today=TODAY)


def test_a_table_that_is_there_twice_is_refused(folder):
    with pytest.raises(TableError) as caught:
        open_schedule(folder(1, "vessels.csv", "items.csv", "items.parquet"), today=TODAY)
    assert [each.file for each in caught.value.problems] == ["items.csv", "vessels.csv"]


def test_a_file_that_is_no_parquet_is_refused_at_the_door(tmp_path):
    (tmp_path / "vessels.parquet").write_text("vessel_id\n")
    with pytest.raises(TableError, match=r"^vessels\.parquet: must be a Parquet file"):
        is_schedule(tmp_path)


def test_settings_are_read_and_held_to_their_rules(folder):
    schedule = open_schedule(folder(1, settings='delimiter = ";"\nas_of = 2026-01-31\n'), today=TODAY)
    assert (schedule.as_of, schedule.as_of_from) == (datetime.date(2026, 1, 31), "settings.toml")
    with pytest.raises(TableError, match="claims_from must stand beside a claims table"):
        open_schedule(folder(1, settings="claims_from = 2020-01-01\n"), today=TODAY)
    with pytest.raises(TableError, match=r"settings\.toml"):
        open_schedule(folder(1, settings="delimitr = 3\n"), today=TODAY)


def test_defaults_that_cannot_be_are_refused_before_anything_is_read(folder):
    path = folder(1, settings='trade = "ours"\n')
    (path / "ours").mkdir()
    pd.DataFrame(
        [
            {
                "table": "vessels",
                "column": "hulls",
                "propulsion": "any",
                "value": "many",
                "unit": "",
                "source": "us",
                "status": "judgement",
            }
        ]
    ).to_csv(path / "ours" / "defaults.csv", index=False)
    with pytest.raises(TableError, match="must be a number"):
        open_schedule(path, today=TODAY)
