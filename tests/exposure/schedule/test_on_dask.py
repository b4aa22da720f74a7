"""A cluster's workers count what one process counts."""

import pytest

from riskmodel.errors import ParameterError, Problem, TableError
from riskmodel.exposure.schedule import on_dask
from riskmodel.exposure.schedule.on_dask import by_cluster
from riskmodel.exposure.schedule.reading import read_schedule
from riskmodel.exposure.schedule.running import one_after_another


def refused(row):
    raise TableError([Problem("items.parquet", row, "quantity", "must be a number", "many")])


@pytest.mark.thorough
def test_a_cluster_of_two_workers_counts_to_the_last_bit_and_refuses_alike(book, write_tables, opened, agree):
    distributed = pytest.importorskip("distributed")

    vessels, items = book(400)
    schedule = opened(write_tables(vessels, items, group=[150, 700]))
    broken = opened(write_tables(vessels, items.assign(quantity="many"), group=200))
    plain = read_schedule(schedule, one_after_another, lambda *_: None)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        by_cluster(cluster.scheduler_address) as run,
    ):
        agree(read_schedule(schedule, run, lambda *_: None), plain)
        with pytest.raises(TableError, match="row 2: quantity must be a number, got many") as caught:
            read_schedule(broken, run, lambda *_: None)
        assert len(caught.value.problems) == len(items)
        with pytest.raises(TableError, match="row 3: quantity"):
            list(run(refused, (), [3]))


def test_nobody_at_the_address_is_one_clear_message(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr(on_dask, "PATIENCE", "0.5s")
    with (
        pytest.raises(ParameterError, match=r"^no Dask scheduler answers at tcp://127\.0\.0\.1:9: "),
        by_cluster("tcp://127.0.0.1:9"),
    ):
        pass
    with pytest.raises(ParameterError, match="no Dask scheduler answers at nonsense"), by_cluster("nonsense"):
        pass
