"""Walking a frame row by row and group by group."""

import gc
from contextlib import ExitStack

import numpy as np
import pandas as pd

from riskmodel.frames import each_row, places_by, rare_collection


def test_each_row_comes_with_its_columns_as_fields():
    rows = list(each_row(pd.DataFrame({"part": ["hose", "pump"], "age": [3.0, 7.5]})))
    assert [(row.part, row.age) for row in rows] == [("hose", 3.0), ("pump", 7.5)]


def test_an_empty_frame_has_no_rows():
    assert list(each_row(pd.DataFrame({"part": []}))) == []


def test_places_are_positions_and_never_labels():
    words = pd.Series(["pump", "hose", "pump"], index=[70, 10, 10])
    places = places_by(words)
    assert list(places) == ["hose", "pump"]
    assert places["hose"].tolist() == [1]
    assert places["pump"].tolist() == [0, 2]


def test_places_cover_every_row_once():
    words = pd.Series(np.random.default_rng(1).choice(["a", "b", "c", "d"], 200))
    found = np.concatenate(list(places_by(words).values()))
    assert sorted(found) == list(range(200))


def test_no_words_have_no_places():
    assert places_by(pd.Series([], dtype=object)) == {}


def test_calls_that_overlap_leave_the_collector_as_it_was():
    before = gc.get_threshold()
    first, second = ExitStack(), ExitStack()
    first.enter_context(rare_collection())
    second.enter_context(rare_collection())
    assert gc.get_threshold() != before
    first.close()
    assert gc.get_threshold() != before
    second.close()
    assert gc.get_threshold() == before
