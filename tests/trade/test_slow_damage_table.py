"""Refusals of the slow damage table: its units, its completeness and the looks it rests on."""

import csv
from importlib.resources import files

import pytest

from riskmodel.errors import TableError
from riskmodel.trade import load_trade

NEW = {"item_class": "sea_strainer", "end_state": "machinery_damage"}


def place(measure):
    rows = files("riskmodel.data.trade").joinpath("slow_damage.csv").read_text("utf-8").splitlines()
    return next(n for n, row in enumerate(csv.DictReader(rows)) if row["measure"] == measure)


@pytest.mark.parametrize(
    ("measure", "change", "message"),
    [
        ("delay", {"unit": "share"}, "unit must be months for delay"),
        ("growth", {"unit": "m2"}, "unit must be m2/month or share/month for growth"),
        ("growth", {"unit": "share/month"}, "unit must be areas or shares for growth and most alike"),
        ("growth", {"low": 9}, r"low must not be above high"),
        ("growth", {"high": 0}, "high must be a number above 0"),
        ("growth", {"measure": "spread"}, "measure must be one of"),
        (
            "growth",
            {"item_class": "deck_beding"},
            "item_class must name a known item_class .nearest: deck_bedding",
        ),
        ("growth", {"needs": ""}, "needs must be one of water, running, nothing"),
        ("growth", {"needs": "water"}, "needs must be the same in every row of a class and end state"),
        ("growth", {"end_state": "rot"}, "end_state must name a known end_state"),
        ("growth", {"propulsion": "oars"}, "propulsion must name a known propulsion"),
    ],
)
def test_a_broken_row_is_refused(overlay, measure, change, message):
    folder = overlay("slow_damage", change, like=place(measure))
    with pytest.raises(TableError, match=message):
        load_trade(folder)


def test_a_class_without_every_measure_is_refused(overlay):
    folder = overlay("slow_damage", NEW, like=place("delay"))
    with pytest.raises(TableError, match="must have a row of reached without conditions") as refused:
        load_trade(folder)
    assert "must have a row of delay" not in str(refused.value)
    assert "growth_factor without" not in str(refused.value)


def test_a_class_complete_only_under_a_condition_is_refused(overlay):
    folder = overlay("slow_damage", NEW | {"water": "salt"}, like=place("delay"))
    with pytest.raises(TableError, match="must have a row of delay without conditions"):
        load_trade(folder)


def test_an_organisations_own_figure_replaces_ours(overlay):
    shipped = {row.item_class: row for row in load_trade().slow_damage if row.measure == "delay"}
    folder = overlay("slow_damage", {"low": 5, "high": 6}, like=place("delay"))
    own = {row.item_class: row for row in load_trade(folder).slow_damage if row.measure == "delay"}
    assert (own["deck_bedding"].low, own["deck_bedding"].high) == (5, 6)
    assert own["bellows_drive"] == shipped["bellows_drive"]
