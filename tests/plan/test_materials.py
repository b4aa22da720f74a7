"""Parts and materials: from the tasks and the trade's list alone, summed, rounded for nobody here, plain words."""

import csv
import re
from importlib.resources import files

import pandas as pd
import pytest

from riskmodel.errors import TableError
from riskmodel.plan.season.calendar import season_calendar
from riskmodel.plan.season.materials import COLUMNS, season_materials
from riskmodel.plan.season.season import season_of
from riskmodel.trade import load_trade

TRADE = load_trade()
BEFORE = "before the first trip"


@pytest.fixture(scope="module")
def whimbrel(demo_fleet):
    return season_of(demo_fleet, "L05").result


def task(item_class, name, due="2027-04-01", quantity=1.0, group=BEFORE):
    return {"item_class": item_class, "task": name, "due": due, "quantity": quantity, "group": group}


def listed(result, *tasks):
    return season_materials(pd.DataFrame(tasks), result).set_index("material")


def test_every_renewal_of_the_trade_has_its_materials():
    known = {(each.item_class, each.task) for each in TRADE.materials}
    renewals = {
        (name, each.task)
        for name, item_class in TRADE.classes.items()
        for each in item_class.tasks
        if each.does == "renew"
    }
    assert renewals <= known


@pytest.mark.parametrize(
    ("item_class", "name", "word"),
    [
        ("raw_water_impeller", "open_cover", "gasket"),
        ("exhaust_riser", "look_inside", "gasket"),
        ("sea_strainer", "open_and_clean", "seal"),
        ("through_hull_seacock", "scrape_and_tap", "clamps"),
    ],
)
def test_a_look_that_opens_things_has_what_closes_them(item_class, name, word):
    found = [each.material for each in TRADE.materials if (each.item_class, each.task) == (item_class, name)]
    assert any(word in material for material in found)


def test_fuel_fill_and_exhaust_hoses_get_two_clamps_at_each_end():
    """Common practice, no source."""
    for name in ("fuel_fill_hose", "wet_exhaust_hose", "shaft_log_hose"):
        (clamps,) = (
            each
            for each in TRADE.materials
            if each.item_class == name and each.material.startswith("Hose clamps")
        )
        assert (clamps.low, clamps.high) == (4, 4)


def test_materials_are_summed_over_tasks_and_parts(whimbrel):
    found = listed(
        whimbrel,
        task("fuel_fill_hose", "renew_hose"),
        task("fuel_fill_hose", "renew_hose", due="2027-03-01", quantity=2.0),
    )
    clamps = found.loc["Hose clamps, marine-grade steel"]
    assert (clamps["low"], clamps["high"], clamps["unit"]) == (12.0, 12.0, "clamps")
    assert clamps["need_by"] == "2027-03-01"


def test_like_materials_of_several_classes_are_one_row(whimbrel):
    found = listed(whimbrel, task("raw_water_hose", "renew_hose"), task("wet_exhaust_hose", "renew_hose"))
    clamps = found.loc["Hose clamps, marine-grade steel"]
    assert (clamps["low"], clamps["high"]) == (6.0, 8.0)
    assert clamps["used_for"] == "Raw-water hose; Wet exhaust hose"


def test_one_tub_serves_all(whimbrel):
    found = listed(
        whimbrel,
        task("through_hull_seacock", "scrape_and_tap", quantity=3.0),
        task("through_hull_seacock", "scrape_and_tap"),
    )
    assert found.loc["Seacock grease that the maker names", "high"] == 1.0
    assert found.loc["Hose clamps, marine-grade steel", "high"] == 8.0


def test_of_many_like_parts_only_the_defect_is_mended(whimbrel):
    found = listed(
        whimbrel, task("deck_bedding", "rebed", quantity=30.0, group="before the boat is used again")
    )
    assert found["high"].max() <= 0.3


def test_the_share_of_boats_that_carry_a_part_takes_a_whole_one(whimbrel):
    found = listed(whimbrel, task("float_switch", "renew_switch", quantity=0.4))
    assert found.loc["Float switch rated for the pump's current", "low"] == 1.0


def test_a_look_that_opens_nothing_takes_nothing(whimbrel):
    found = season_materials(pd.DataFrame([task("hose_clamps", "turn_and_look")]), whimbrel)
    assert found.empty
    assert list(found.columns) == list(COLUMNS)


def test_a_seasons_list_is_that_of_its_tasks_and_in_the_order_of_need(whimbrel):
    calendar = season_calendar(whimbrel)
    found = season_materials(calendar.tasks, whimbrel)
    assert list(found.columns) == list(COLUMNS)
    assert found["need_by"].is_monotonic_increasing
    assert not found["material"].duplicated().any()
    assert (found["low"] <= found["high"]).all()
    renewed = calendar.tasks.loc[calendar.tasks["does"] == "renew", "item_class"]
    for name in renewed.unique():
        label = whimbrel.trade.classes[name].label
        assert found["used_for"].str.contains(label, regex=False).any()


def test_words_are_plain_and_name_no_make():
    text = files("riskmodel.data.trade").joinpath("materials.csv").read_text("utf-8")
    for row in csv.DictReader(text.splitlines()):
        # A capital inside a material's words would be a name.
        assert not re.search(r"\s[A-Z]", row["material"]), row["material"]
        assert row["source"]
        assert row["status"] in {"published", "common practice", "judgement", "from memory"}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"task": "polish"}, "must be a task of shaft_packing, got 'polish'"),
        ({"low": "0"}, "must be a number above 0"),
        ({"low": "9"}, "must not be above high"),
        ({"per": "mile"}, "must be one of part, boat"),
        ({"unit": "metres"}, "must be that of the same material elsewhere"),
        ({"status": "rumour"}, "must be one of published"),
    ],
)
def test_a_wrong_row_of_an_organisation_is_refused(tmp_path, change, says):
    row = {
        "item_class": "shaft_packing",
        "task": "repack",
        "material": "Braided packing of the old one's size",
        **{
            "per": "part",
            "low": "4",
            "high": "5",
            "unit": "rings",
            "note": "",
            "source": "us",
            "status": "judgement",
        },
    }
    _table(tmp_path, [row | change, row | {"task": "count_drips", "unit": "rings"}])
    with pytest.raises(TableError, match=re.escape(says)):
        load_trade(tmp_path)


def test_an_organisations_own_amount_takes_the_place_of_the_trades(tmp_path):
    row = {
        "item_class": "drain_plug",
        "task": "renew_plug",
        "material": "Drain plug with its seal",
        **{
            "per": "part",
            "low": "2",
            "high": "2",
            "unit": "pieces",
            "note": "",
            "source": "us",
            "status": "judgement",
        },
    }
    _table(tmp_path, [row])
    own = load_trade(tmp_path)
    (plug,) = (each for each in own.materials if each.material == row["material"])
    assert (plug.low, plug.source) == (2.0, "us")
    assert len(own.materials) == len(TRADE.materials)


def _table(folder, rows):
    with (folder / "materials.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
