"""The tables of how fuel hoses and exhaust parts leak: complete, of one mind, and refused where they break a rule."""

import pytest

from riskmodel.errors import TableError
from riskmodel.trade import load_trade

MODES = ["weep", "split", "parted"]


@pytest.mark.parametrize("table", ["fuel_leaks", "exhaust_leaks"])
def test_each_class_leaks_in_three_ways_whose_shares_can_add_up(trade, table):
    rows = getattr(trade, table)
    for name in {row.item_class for row in rows}:
        mine = [row for row in rows if row.item_class == name]
        assert [row.mode for row in mine] == MODES
        assert sum(row.share_low for row in mine) < 1 < sum(row.share_high for row in mine)


@pytest.mark.parametrize("table", ["fuel_leaks", "exhaust_leaks"])
def test_every_way_of_leaking_says_where_it_comes_from(trade, table):
    for row in getattr(trade, table):
        assert (row.status == "judgement") == (row.source == "our judgement")
        assert row.note


@pytest.mark.parametrize(
    ("table", "cells", "says"),
    [
        ("fuel_leaks", {"litres_low": 0}, "litres_low must be a number above 0"),
        ("fuel_leaks", {"hot_high": 1.2}, "hot_high must be a number from 0 to 1"),
        ("fuel_leaks", {"mode": "gush"}, "mode must be one of weep, split, parted"),
        ("fuel_leaks", {"item_class": "fuel_fil_hose"}, "item_class must name a known item_class"),
        ("fuel_leaks", {"minutes_low": 90}, "minutes_low"),
        ("exhaust_leaks", {"gas_high": 1.2}, "gas_high must be a number from 0 to 1"),
        ("exhaust_leaks", {"occasions_low": 0}, "occasions_low must be a number above 0"),
        ("exhaust_leaks", {"item_class": "chimney"}, "item_class must name a known item_class"),
    ],
)
def test_a_leak_that_breaks_a_rule_is_refused(overlay, table, cells, says):
    with pytest.raises(TableError, match=says):
        load_trade(overlay(table, cells))


def test_an_organisations_own_leak_takes_the_place_of_the_shipped_one(overlay):
    own = load_trade(
        overlay("fuel_leaks", {"litres_low": 0.02, "litres_high": 0.2, "source": "our workshop"})
    )
    (row,) = [row for row in own.fuel_leaks if (row.item_class, row.mode) == ("fuel_fill_hose", "weep")]
    assert (row.litres_high, row.source) == (0.2, "our workshop")
    assert len(own.fuel_leaks) == len(load_trade().fuel_leaks)
