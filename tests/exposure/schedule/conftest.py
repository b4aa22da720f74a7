"""Writes small schedules as Parquet, cut into row groups as asked, and reads them."""

import datetime
import itertools

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from riskmodel.exposure.schedule.door import open_schedule
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.running import one_after_another

TODAY = datetime.date(2026, 6, 1)


@pytest.fixture(scope="session")
def write_tables(tmp_path_factory):
    """Writes frames as a schedule's folder, in row groups of ``group`` rows or of the lengths in a list."""
    numbers = itertools.count()

    def write(vessels, items=None, group=None, settings=None):
        folder = tmp_path_factory.mktemp("schedule") / f"book{next(numbers)}"
        folder.mkdir()
        for name, frame in (("vessels", vessels), ("items", items)):
            if frame is not None:
                _write(folder / f"{name}.parquet", frame, group)
        if settings is not None:
            (folder / "settings.toml").write_text(settings)
        return folder

    return write


def _write(path, frame, group):
    table = frame if isinstance(frame, pa.Table) else pa.Table.from_pandas(frame, preserve_index=False)
    if not isinstance(group, list):
        pq.write_table(table, path, row_group_size=group or max(len(table), 1))
        return
    with pq.ParquetWriter(path, table.schema) as writer:
        start = 0
        for rows in [*group, len(table)]:
            if table.slice(start, rows).num_rows:
                writer.write_table(table.slice(start, rows), row_group_size=rows)
            start += rows


@pytest.fixture(scope="session")
def opened():
    return lambda folder: open_schedule(folder, as_of=TODAY, today=TODAY)


@pytest.fixture(scope="session")
def counted(write_tables, opened):
    """The same, counted in this process."""

    def read(*tables, how=read_schedule, **words):
        return how(opened(write_tables(*tables, **words)), one_after_another, lambda *_: None)

    return read


@pytest.fixture(scope="session")
def book():
    """Frames of ``boats`` boats with four parts each, blanks among them, and numbers of many digits."""

    def make(boats, seed=1):
        random = np.random.default_rng(seed)
        vessels = pd.DataFrame(
            {
                "vessel_id": [f"B{n}" for n in range(boats)],
                "propulsion": random.choice(["outboard", "sterndrive", "sail_shaft"], boats),
                "value": np.round(random.lognormal(10, 1, boats), 2),
                "length_m": np.where(
                    random.random(boats) < 0.2, np.nan, np.round(random.uniform(4, 20, boats), 3)
                ),
                "built_year": random.integers(1975, 2000, boats),
                "water": random.choice(["salt", "fresh", None], boats),
                "alarm_telemetry": random.choice(["yes", "no", ""], boats),
                "home_port": random.choice(["north", "south", ""], boats),
            }
        )
        number = 4 * boats
        installed = pd.Series(
            np.datetime64("2026-05-01") - random.integers(0, 9000, number).astype("timedelta64[D]")
        ).dt.strftime("%Y-%m-%d")
        items = pd.DataFrame(
            {
                "item_id": [f"I{n}" for n in range(number)],
                "vessel_id": [f"B{n}" for n in random.permutation(np.repeat(np.arange(boats), 4))],
                "item_class": random.choice(
                    ["bilge_pump", "float_switch", "bellows_drive", "hose_clamps"], number
                ),
                "installed_on": installed.where(random.random(number) > 0.2, None),
                "quantity": random.choice([1.0, 2.0, 40.0, np.nan], number),
            }
        )
        return vessels, items

    return make


@pytest.fixture(scope="session")
def agree():
    """Holds two Counted to be equal to the last bit, but for the numbers of their rows."""

    def same(one, other):
        for name in ("number", "age", "listed"):
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
        for name in ("kind", "priced", "port", "built", "value"):
            np.testing.assert_array_equal(getattr(one.boats, name), getattr(other.boats, name))
        for groups, others in ((one.boats.kinds, other.boats.kinds), (one.boats.money, other.boats.money)):
            assert groups.level == others.level
            pd.testing.assert_frame_equal(groups.keys, others.keys)
            np.testing.assert_array_equal(groups.boats, others.boats)
            np.testing.assert_array_equal(groups.sums, others.sums)
        assert one.boats.ports == other.boats.ports
        assert (one.notes, one.later, one.recalled) == (other.notes, other.later, other.recalled)

    return same
