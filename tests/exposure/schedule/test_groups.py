"""Groups of boats come out the same however a schedule is cut."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.errors import TableError
from riskmodel.exposure.schedule.bands import LEVELS, ByRatio, ByWidth, Likeness, band
from riskmodel.exposure.schedule.groups import ROOM, grouped, joined

SCALES = {"value": ByRatio(12.0, turn=1), "year": ByWidth(1.0), "length": ByRatio(8.0, turn=2)}


def like(most):
    return Likeness(("word",), SCALES, most)


def boats(number, seed):
    random = np.random.default_rng(seed)
    return pd.DataFrame(
        {
            "word": random.choice(np.array(["", "a", "b"], dtype=object), number),
            "value": np.round(random.lognormal(10, 1, number), 2),
            "year": np.where(random.random(number) < 0.2, np.nan, random.integers(1970, 2026, number)),
            "length": random.choice([0.0, 7.12345, 9.5, np.nan], number),
        }
    )


def cut(frame, ends):
    edges = sorted({0, len(frame), *(end % len(frame) for end in ends)})
    return [frame.iloc[a:b].reset_index(drop=True) for a, b in pairwise(edges)]


@settings(max_examples=25)
@given(
    st.integers(1, 150),
    st.lists(st.integers(0, 1000), max_size=6),
    st.sampled_from([2, 5, 40, 10_000]),
    st.integers(0, 9),
)
def test_groups_counts_and_sums_do_not_depend_on_the_cuts(number, ends, most, seed):
    frame = boats(number, seed)
    whole, (place,) = joined([grouped(frame, like(most))[0]])
    parts = [grouped(each, like(most)) for each in cut(frame, ends)]
    both, places = joined([groups for groups, _ in parts])
    assert both.level == whole.level
    pd.testing.assert_frame_equal(both.keys, whole.keys)
    np.testing.assert_array_equal(both.boats, whole.boats)
    np.testing.assert_array_equal(both.sums, whole.sums)
    mine = np.concatenate([to[of] for (_, of), to in zip(parts, places, strict=True)])
    np.testing.assert_array_equal(mine, place[grouped(frame, like(most))[1]])
    assert both.boats.sum() == number


def test_the_level_is_the_finest_that_keeps_to_the_number_wanted():
    frame = boats(400, 3)
    for most in (3, 10, 30, 100, 390):
        whole, _ = joined([grouped(each, like(most))[0] for each in cut(frame, [40, 200, 201])])
        sizes = [len(joined([grouped(frame, Likeness(("word",), SCALES, 10**9))[0]])[0].boats)]
        sizes += [len(_at(frame, level)) for level in range(1, LEVELS)]
        assert sizes == sorted(sizes, reverse=True)
        few = [level for level, size in enumerate(sizes) if size <= most]
        assert whole.level == (few[0] if few else LEVELS - 1)


def _at(frame, level):
    bands = {name: band(frame[name].to_numpy(), scale, level) for name, scale in SCALES.items()}
    return pd.DataFrame({"word": frame["word"], **bands}).drop_duplicates()


def test_single_stretches_that_pass_finer_do_not_make_the_whole_finer():
    frame = boats(300, 5)
    stretches = cut(frame, range(10, 300, 10))
    parts = [grouped(each, like(60))[0] for each in stretches]
    assert {each.level for each in parts} == {0}
    assert all(len(each.boats) <= ROOM * 60 for each in parts)
    whole, _ = joined(parts)
    assert whole.level > 0
    assert len(whole.boats) <= 60


def test_the_mean_of_equal_boats_is_their_number_whatever_its_digits():
    frame = pd.DataFrame(
        {"word": ["a"] * 3, "value": [123.456] * 3, "year": [2001.0] * 3, "length": [7.123456789] * 3}
    )
    whole, _ = joined([grouped(frame, like(5))[0]] * 7)
    assert whole.means.iloc[0].to_dict() == {
        "word": "a",
        "value": 123.456,
        "year": 2001.0,
        "length": 7.123456789,
    }
    assert whole.boats.tolist() == [21]


def test_what_is_not_said_is_neither_a_word_nor_a_number_nor_a_column():
    frame = pd.DataFrame({"word": ["", "a"], "value": [np.nan, 0.0]})
    whole, _ = joined([grouped(frame, like(10))[0]])
    means = whole.means
    assert list(means["word"]) == ["", "a"]
    assert np.isnan(means["value"][0])
    assert means["value"][1] == 0
    assert means[["year", "length"]].isna().all(axis=None)


def test_sums_of_large_amounts_stay_whole_and_too_large_ones_are_refused():
    frame = pd.DataFrame({"value": [9_007_199_254_741.0, 0.001] * 3})
    groups, _ = grouped(frame, Likeness((), {"value": ByRatio(12.0)}, 1))
    (total,) = joined([groups, groups])[0].sums.sum(axis=0)
    assert total == 6 * (9_007_199_254_741_000 + 1)
    with pytest.raises(TableError, match="value must add up to at most"):
        grouped(pd.DataFrame({"value": [1e16]}), Likeness((), {"value": ByRatio(12.0)}, 1))
