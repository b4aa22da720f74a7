"""The order of the report: known defects, then paths that can kill, then money; and the bands on every rank."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from riskmodel.risk import assess
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT, MONEY, ORDER, TOP, assign_groups, rank_bands, ranks

TENTHS = st.integers(0, 10).map(lambda number: number / 10)


@pytest.fixture(scope="module")
def dearer(demo_fleet):
    """The demo with every hull worth something else."""
    factor = np.random.default_rng(0).uniform(0.1, 10, len(demo_fleet.vessels))
    return assess(
        replace(demo_fleet, vessels=demo_fleet.vessels.assign(value=demo_fleet.vessels["value"] * factor))
    )


def test_defects_come_before_what_can_kill_and_that_before_money(demo):
    places = demo["group"].map(ORDER)
    assert places.is_monotonic_increasing
    assert set(demo["group"]) == set(ORDER)


def test_the_frame_is_in_rank_order_without_gaps(demo):
    assert demo["rank"].tolist() == list(range(1, len(demo.frame) + 1))


def test_every_known_defect_is_in_the_first_group(demo):
    assert ((demo["defect"] != "") == (demo["group"] == KNOWN_DEFECT)).all()


def test_what_can_kill_over_the_limit_is_in_the_second_group_by_its_chance(demo):
    second = demo.frame[demo.frame["group"] == CAN_KILL]
    assert (second["kill_probability"] > demo.limit).all()
    assert second["kill_probability"].is_monotonic_decreasing
    assert (demo.frame.loc[demo.frame["group"] == MONEY, "kill_probability"] <= demo.limit).all()


def test_money_goes_by_loss_averted_for_each_unit_spent(demo):
    third = demo.frame[demo.frame["group"] == MONEY]
    assert third["averted_per_cost"].is_monotonic_decreasing
    cost = third["task_cost"].clip(lower=1.0)
    assert third["averted_per_cost"].to_numpy() == pytest.approx((third["loss_averted"] / cost).to_numpy())


def test_hull_value_moves_the_order_of_money(demo, dearer):
    money = [frame.loc[frame["group"] == MONEY, "item_id"].tolist() for frame in (demo.frame, dearer.frame)]
    assert money[0] != money[1]


def test_hull_value_moves_neither_rank_nor_band_of_what_can_kill(demo, dearer):
    columns = ["item_id", "rank", "rank_low", "rank_high", "kill_probability"]
    one, other = (frame.loc[frame["group"] == CAN_KILL, columns] for frame in (demo.frame, dearer.frame))
    pd.testing.assert_frame_equal(one, other)


def test_hull_value_never_moves_a_defect_that_can_kill(demo, dearer):
    one, other = (
        frame[
            (frame["group"] == KNOWN_DEFECT)
            & (frame[["kill_probability", "sinking_probability"]].max(axis=1) > 0)
        ]
        for frame in (demo.frame, dearer.frame)
    )
    assert one["item_id"].tolist() == other["item_id"].tolist()
    assert len(one) > 2


def test_a_dead_barrier_stands_among_the_defects_by_what_it_stands_against(demo):
    defects = demo.frame[demo.frame["group"] == KNOWN_DEFECT].set_index("item_class")["rank"]
    assert demo.frame.set_index("item_class").loc["float_switch", "severity"].eq("Catastrophic").all()
    assert (
        defects.loc[["bilge_pump", "float_switch"]].min()
        < defects.loc[["sacrificial_anode", "deck_bedding"]].min()
    )


def test_hull_value_moves_no_part_between_the_groups(demo, dearer):
    groups = [result.frame.set_index("item_id")["group"].sort_index() for result in (demo, dearer)]
    pd.testing.assert_series_equal(*groups)


@pytest.mark.parametrize("months_limit", [0.0001, 0.01])
def test_the_users_limit_decides_what_comes_before_money(fleet_of, two_boats, months_limit):
    result = assess(fleet_of(**two_boats, settings=f"kill_limit = {months_limit}\n"))
    over = result.frame[(result["kill_probability"] > months_limit) & (result["defect"] == "")]
    assert result.limit == months_limit
    assert over["item_id"].tolist() == result.frame.loc[result["group"] == CAN_KILL, "item_id"].tolist()


def test_a_band_holds_its_rank_and_stays_in_its_group(demo):
    assert (demo["rank_low"] <= demo["rank"]).all()
    assert (demo["rank"] <= demo["rank_high"]).all()
    for group, rows in demo.frame.groupby("group"):
        assert rows["rank_low"].min() >= rows["rank"].min(), group
        assert rows["rank_high"].max() <= rows["rank"].max(), group


def test_chances_of_the_top_add_up_to_the_places_there(demo):
    assert demo["top_probability"].between(0, 1).all()
    # The top: every known defect, and the first ten after them.
    assert demo["top_probability"].sum() == pytest.approx(TOP + (demo["group"] == KNOWN_DEFECT).sum())


def test_a_defect_outranks_a_path_that_can_kill():
    groups = assign_groups(np.array([True, False, False]), np.array([0.5, 0.5, 0.0]), 0.1)
    assert groups.tolist() == [KNOWN_DEFECT, CAN_KILL, MONEY]


def test_the_limit_itself_is_not_over_the_limit():
    assert assign_groups(np.array([False]), np.array([0.1]), 0.1).tolist() == [MONEY]


@given(
    st.lists(st.sampled_from(sorted(ORDER)), min_size=5, max_size=5),
    *(arrays(float, (5, 3), elements=TENTHS) for _ in range(3)),
)
def test_every_draw_ranks_every_part_once_and_keeps_the_groups_apart(group, kill, averted, worth):
    found = ranks(pd.Series(group), kill, averted, worth)
    for draw in found.T:
        assert sorted(draw) == [1, 2, 3, 4, 5]
        order = np.argsort(draw)
        places = [ORDER[group[place]] for place in order]
        assert places == sorted(places)
        money = [worth[place, 0] for place in np.argsort(found[:, 0]) if group[place] == MONEY]
        assert money == sorted(money, reverse=True)


def test_ties_keep_the_order_of_the_rows():
    same = np.ones((4, 2))
    noise = same * (1 + 1e-15 * np.arange(4)[:, None])
    assert ranks(pd.Series([MONEY] * 4), same, same, noise)[:, 0].tolist() == [1, 2, 3, 4]


def test_bands_are_the_central_nine_tenths_of_the_draws():
    draws = np.arange(1.0, 101.0)[None, :]
    bands = rank_bands(draws, np.array([50.0]), 0)
    assert bands.loc[0, ["rank", "rank_low", "rank_high"]].tolist() == [50, 6, 95]
    assert bands.loc[0, "top_probability"] == 0.1


def test_a_rank_outside_its_draws_widens_the_band():
    bands = rank_bands(np.array([[3.0, 3.0, 4.0]]), np.array([7.0]), 0)
    assert bands.loc[0, ["rank_low", "rank_high"]].tolist() == [3, 7]


def test_the_expected_rank_is_the_mean_of_the_draws():
    drawn = np.array([[1.0, 2.0, 6.0], [2.0, 1.0, 3.0]])
    assert rank_bands(drawn, np.array([[1.0], [2.0]])[:, 0], 0)["rank_expected"].tolist() == [3.0, 2.0]


def test_expected_ranks_of_the_demo_add_up_to_those_of_the_ranks(demo):
    count = len(demo.frame)
    assert demo["rank_expected"].sum() == pytest.approx(count * (count + 1) / 2)
