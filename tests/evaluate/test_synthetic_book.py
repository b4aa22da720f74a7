"""An invented schedule is the same for the same seed, keeps every rule, and appears whole or not at all."""

import datetime

import pyarrow.parquet as pq
import pytest

from riskmodel.errors import ParameterError
from riskmodel.evaluate import synthetic_book
from riskmodel.evaluate.synthetic_book import write_synthetic_book
from riskmodel.fleet import load_fleet

DAY = datetime.date(2026, 6, 1)


def tables(folder):
    return {path.name: pq.read_table(path) for path in sorted(folder.iterdir())}


def test_the_same_seed_gives_the_same_rows_and_another_others(tmp_path):
    for name, seed in (("a", 3), ("b", 3), ("c", 4)):
        write_synthetic_book(tmp_path / name, 500, 4, seed=seed, as_of=DAY, boats_a_group=200)
    one, same, other = (tables(tmp_path / name) for name in "abc")
    assert list(one) == ["items.parquet", "vessels.parquet"]
    assert all(one[name].equals(same[name]) for name in one)
    assert not any(one[name].equals(other[name]) for name in one)


def test_every_row_keeps_the_rules_and_there_are_as_many_as_asked(tmp_path):
    write_synthetic_book(tmp_path, 1500, 7, as_of=DAY, boats_a_group=400)
    fleet = load_fleet(tmp_path, as_of=DAY, today=DAY)
    assert (len(fleet.vessels), len(fleet.items)) == (1500, 10_500)
    assert fleet.items.groupby("vessel_id").size().eq(7).all()
    groups = pq.ParquetFile(tmp_path / "vessels.parquet").metadata
    assert [groups.row_group(each).num_rows for each in range(groups.num_row_groups)] == [400, 400, 400, 300]
    assert 0 < fleet.items["installed_by"].isna().mean() < 0.3
    assert 0 < (fleet.given["vessels"]["water"]).mean() < 1


def test_without_parts_there_is_no_table_of_them(tmp_path):
    write_synthetic_book(tmp_path, 10, 0, as_of=DAY)
    assert list(tables(tmp_path)) == ["vessels.parquet"]
    assert len(load_fleet(tmp_path, as_of=DAY, today=DAY).items) == 0


def test_an_old_book_is_not_left_half_replaced(tmp_path, monkeypatch):
    write_synthetic_book(tmp_path, 20, 2, as_of=DAY)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}

    def stop(*_):
        raise KeyboardInterrupt
        yield

    monkeypatch.setattr(synthetic_book, "_parts", stop)
    with pytest.raises(KeyboardInterrupt):
        write_synthetic_book(tmp_path, 30, 2, as_of=DAY)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_parts_of_an_older_book_do_not_stay_beside_new_boats(tmp_path):
    write_synthetic_book(tmp_path, 20, 2, as_of=DAY)
    write_synthetic_book(tmp_path, 10, 0, as_of=DAY)
    assert list(tables(tmp_path)) == ["vessels.parquet"]


@pytest.mark.parametrize(
    "words", [{"boats": 0}, {"parts_each": -1}, {"boats_a_group": 0}, {"parts_each": 1_000_001}]
)
def test_numbers_that_cannot_be_are_refused_and_write_nothing(tmp_path, words):
    asked = {"boats": 5, "parts_each": 1, "boats_a_group": 5} | words
    with pytest.raises(ParameterError, match=f"{next(iter(words))}"):
        write_synthetic_book(tmp_path / "book", as_of=DAY, **asked)
    assert not (tmp_path / "book").exists()
