"""The ranking's page: every defect, the promised rows, true sums in its closing sentences."""

import re

import pytest

from riskmodel.consequence import fuel_and_openings
from riskmodel.report.rank import HEADS, boat_names, currency_of, part_names, rank_page
from riskmodel.risk.ranking import CAN_KILL, KNOWN_DEFECT, MONEY
from riskmodel.words import money


@pytest.fixture(scope="module")
def page(demo):
    return rank_page(demo, 5)


def section(page, group):
    return page.split(HEADS[group])[1].split("\n\nTHEN:")[0].split("\n\nFOUND SUSPECT")[0]


def ranks_in(text):
    return [int(rank) for rank in re.findall(r"^ *(\d+)(?: \(\d+-\d+\)|  )", text, flags=re.MULTILINE)]


def test_every_known_defect_is_shown_whatever_the_rows_asked_for(demo, page):
    defects = int((demo["group"] == KNOWN_DEFECT).sum())
    assert defects > 5
    assert ranks_in(section(page, KNOWN_DEFECT)) == list(range(1, defects + 1))


def test_as_many_rows_are_shown_as_were_asked_for(demo, page):
    third = demo.frame[demo.frame["group"] == MONEY]
    assert (
        ranks_in(section(page, MONEY).split("(")[0] + section(page, MONEY))[:5]
        == third["rank"].head(5).tolist()
    )
    assert f"({len(third) - 5} more: ask for --top {len(third)}" in page


def test_the_limit_of_the_second_list_is_said(page):
    assert "Listed here when the chance is over 3 in 10,000." in section(page, CAN_KILL)


def test_the_closing_sum_is_that_of_tasks_that_pay(demo, page):
    tasks = demo.frame[demo.frame["group"] != KNOWN_DEFECT]
    paying = tasks[tasks["loss_averted"] > tasks["task_cost"]].head(10)
    said = " ".join(page.split())
    assert f"cost about USD {money(paying['task_cost'].sum())} together" in said
    assert f"avert about USD {money(paying['loss_averted'].sum())} of expected loss by 2027-11-15" in said


def test_nothing_to_do_is_said_plainly(assessed):
    result = assessed([{"item_class": "deck_bedding", "installed_on": "2026-05-01"}], boats=[{"value": 500}])
    page = rank_page(result, 5)
    assert "Beyond that no task averts more loss by 2027-06-01 than it costs." in " ".join(page.split())
    assert "None on record." in section(page, KNOWN_DEFECT)


def test_the_fleets_own_currency_is_used(assessed):
    result = assessed([{"item_class": "deck_bedding"}], settings='currency = "NOK"\nprice_scale = 10\n')
    assert currency_of(result) == "NOK"
    page = rank_page(result, 5)
    assert "NOK" in page
    # Only the note that says what the trade's prices were multiplied by names another.
    assert page.count("USD") == 1
    assert "figures in USD" in " ".join(page.split())


def test_without_one_the_trades_currency_is_used(assessed):
    assert currency_of(assessed([{"item_class": "deck_bedding"}])) == "USD"


def test_boats_go_by_name_and_else_by_id(assessed):
    boats = [{"vessel_id": "B1", "name": "Tern"}, {"vessel_id": "B2", "name": ""}]
    items = [{"item_class": "deck_bedding", "vessel_id": boat["vessel_id"]} for boat in boats]
    result = assessed(items, boats=boats)
    assert set(boat_names(result, result.frame)) == {"Tern", "B2"}


def test_parts_go_by_label_and_place(assessed):
    result = assessed([{"item_class": "bilge_pump", "position": "port"}, {"item_class": "bilge_pump"}])
    assert sorted(part_names(result, result.frame)) == ["Bilge pump", "Bilge pump, port"]


def test_a_chance_is_never_said_to_be_nought(page):
    assert not re.search(r" 0 \(|\(0-0\)", page)


def test_every_part_found_suspect_is_told_fuel_and_hull_openings_first(demo):
    whole = rank_page(demo, 1000)
    told = whole.split("FOUND SUSPECT")[1].split("\n\nTHEN:")[0]
    open_ = (demo.standing["found"] == "suspect") & (demo.standing["defect"] == "")
    frame = demo.frame.set_index("item_id").loc[demo.standing.loc[open_, "item_id"]]
    assert sorted(ranks_in(told)) == sorted(frame["rank"])
    first = frame["item_class"].isin(fuel_and_openings(demo.trade)).to_numpy()
    places = [ranks_in(told).index(rank) for rank in frame["rank"]]
    assert max(place for place, fuel in zip(places, first, strict=True) if fuel) < min(
        place for place, fuel in zip(places, first, strict=True) if not fuel
    )


def test_all_rubber_past_its_age_is_listed_whatever_its_boat(demo):
    told = rank_page(demo, 1000).split("RENEWAL AGE")[1].split("\n\nFirst put")[0]
    frame = demo.frame[demo["overdue"] & (demo["group"] == MONEY)]
    assert sorted(ranks_in(told)) == sorted(frame["rank"])


def test_what_can_kill_is_told_with_how_sure(page):
    table = page.split(HEADS[CAN_KILL])[1].split("\n\nTHEN:")[0]
    assert len(re.findall(r"<?[\d.]+ \(<?[\d.]+-<?[\d.]+\)", table)) >= 10
