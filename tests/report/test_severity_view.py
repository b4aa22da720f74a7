"""The table of levels and categories: everything counted once, money beside people, and never a reason to wait."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence import barrier_needs
from riskmodel.report.severity_parts import (
    IN_TABLE,
    cell_words,
    deadly_parts,
    level_counts,
    levels_frame,
    worst_parts,
)
from riskmodel.report.severity_view import DEADLY_HEAD, HEADLINE, TABLE_HEAD, WORST_HEAD, apart, levels_page
from riskmodel.risk.ranking import KNOWN_DEFECT

WORDS = ("High", "Serious", "Medium", "Low", "Eliminated")


@pytest.fixture(scope="module")
def parts(demo):
    return levels_frame(demo)


@pytest.fixture(scope="module")
def page(demo):
    return levels_page(demo, 5)


def said(page):
    return " ".join(page.split())


def section(page, head):
    return page.split(head)[1].split("\n\n")[1]


def test_each_part_has_one_row_in_the_order_of_the_ranking(demo, parts):
    assert parts["item_id"].tolist() == demo.frame["item_id"].tolist()


def test_known_defects_and_barriers_are_counted_apart(demo, parts):
    defects = (demo.frame["group"] == KNOWN_DEFECT).sum()
    barriers = demo.frame["item_class"].isin(barrier_needs(demo.trade)) & (
        demo.frame["group"] != KNOWN_DEFECT
    )
    kinds = parts["counted"].value_counts()
    assert kinds["known defect"] == defects
    assert kinds["barrier"] == barriers.sum()
    assert kinds.sum() == len(demo.frame)


def test_the_table_holds_every_other_part_once(demo, parts):
    assert level_counts(parts, demo.trade).to_numpy().sum() == (parts["counted"] == IN_TABLE).sum()


def test_the_page_shows_the_counts_and_words_of_every_cell(demo, parts, page):
    counts, words = level_counts(parts, demo.trade), cell_words(demo.trade)
    table = section(page, TABLE_HEAD)
    for level in counts.index:
        (line,) = re.findall(rf"^{level} .*$", table, flags=re.MULTILINE)
        shown = re.findall(rf"(\d+|-) ({'|'.join(WORDS)})", line)
        assert [int(count.replace("-", "0")) for count, _ in shown] == counts.loc[level].tolist()
        assert [word for _, word in shown] == words.loc[level].tolist()


def test_nothing_that_can_happen_stands_in_level_f(parts):
    assert ((parts["level"] == "F") == (parts["chance"] == 0)).all()


def test_the_first_thing_said_is_that_no_word_is_a_reason_to_leave_a_defect_alone(page):
    assert "never a reason to leave a known defect or a dangerous part alone" in HEADLINE
    assert said(page).index(" ".join(HEADLINE.split())) < said(page).index(TABLE_HEAD)
    assert "Low and Negligible do not mean ignore." in said(page)


def test_our_bands_are_labelled_ours_and_injury_is_not_rescaled(page):
    assert "OUR TAILORING, not the standard's: its money bands times 1/500" in said(page)
    assert "Injury and death are never rescaled." in said(page)
    assert "20,000 or more death or permanent total disability" in said(page)
    assert "4 Negligible under 200" in said(page)


def test_chances_are_said_to_run_to_the_day_and_not_over_a_life(page):
    assert "those are for the life of an item, these chances run to the day above only" in said(page)


def test_the_standard_is_named_with_how_sure_we_are_of_it(page):
    assert "MIL-STD-882E (2012), Table I (from memory)" in said(page)


def test_no_line_is_wider_than_eighty_characters(demo, page):
    assert max(map(len, page.splitlines())) <= 80
    assert max(map(len, levels_page(demo, 10_000).splitlines())) <= 80


def test_no_chance_is_said_to_be_nought(page):
    assert not re.search(r" 0(\.0)?$", section(page, DEADLY_HEAD), flags=re.MULTILINE)
    assert not re.search(r" 0(\.0)? +[\d,]+ ", section(page, WORST_HEAD))


def test_what_can_kill_is_listed_by_its_chance_and_never_by_money(parts):
    listed = deadly_parts(parts, 50)
    assert listed["kill_probability"].is_monotonic_decreasing
    assert (listed["counted"] == IN_TABLE).all()
    others = parts[(parts["counted"] == IN_TABLE) & ~parts["item_id"].isin(listed["item_id"])]
    assert others["kill_probability"].max() <= listed["kill_probability"].min()


def test_dearer_boats_move_nothing_on_the_list_of_what_can_kill(demo, parts):
    costs = demo.losses.assign(mean=demo.losses["mean"] * 100)
    dearer = replace(demo, consequences=replace(demo.consequences, losses=costs))
    pd.testing.assert_series_equal(
        deadly_parts(levels_frame(dearer), 50)["item_id"].reset_index(drop=True),
        deadly_parts(parts, 50)["item_id"].reset_index(drop=True),
    )


def test_the_worst_cells_come_first_with_words_in_order(parts):
    places = worst_parts(parts, 200)["risk"].map(WORDS.index)
    assert places.is_monotonic_increasing


def test_a_parts_word_is_never_milder_than_that_of_its_deadly_end_state(parts):
    order = {word: place for place, word in enumerate(WORDS)}
    assert (parts["risk"].map(order) <= parts["deadly_risk"].map(order)).all()


def test_money_and_danger_stand_beside_the_cell(page):
    head = page.split(WORST_HEAD)[1]
    assert re.search(r"If so, +Can kill,", head)
    assert re.search(r"USD +in 1,000", head)


def test_the_lists_are_as_long_as_asked_for(parts, page):
    total = (parts["counted"] == IN_TABLE).sum()
    assert f"({total - 5} more: ask for --top {total}, or --format csv for all.)" in page


def test_injury_has_its_own_column(demo, parts):
    assert parts["injury_probability"].tolist() == demo.chances["injury"].loc[parts["item_id"]].tolist()
    page = levels_page(demo, 3)
    assert "Injures," in page
    assert max(map(len, page.splitlines())) <= 80


def test_the_keepers_own_scale_is_used_and_said(assessed):
    items = [{"item_class": "wet_exhaust_hose", "installed_on": "2016"}]
    ours = assessed(items, settings="severity_money_scale = 0.0025\n")
    theirs = assessed(items, settings="severity_money_scale = 1.0\n")
    assert "times 1/400" in said(levels_page(ours, 5))
    assert "times 1," in said(levels_page(theirs, 5))
    assert (levels_frame(theirs)["money_category"] >= levels_frame(ours)["money_category"]).all()


def test_a_fleet_of_defects_has_an_empty_table_and_says_so(assessed):
    found = [{"item_id": "I0", "date": "2026-05-20", "event": "inspected", "finding": "failed"}]
    result = assessed([{"item_class": "deck_bedding", "installed_on": "2014"}], found)
    page = levels_page(result, 5)
    assert "Not in the table: 1 known defect, to be put right before anything here." in said(page)
    assert f"{WORST_HEAD}\nNo part stands in the table." in page
    assert f"{DEADLY_HEAD}\nNo part in the table has a path that can kill." in page


def test_a_table_without_defects_or_barriers_leaves_nothing_out():
    assert apart(pd.DataFrame({"counted": [IN_TABLE]})) == "Every part of the fleet is in the table."


def test_parts_in_the_table_have_finite_money(parts):
    assert np.isfinite(parts["loss"]).all()
