"""What anybody who looks after boats would expect of the order: common practice, no source, unless said otherwise."""

import pytest

YACHT = [{"propulsion": "sail_shaft", "checked_every_days": 30, "kept": "mooring", "value": 60000}]
OLD_PACKING = {"item_id": "packing", "item_class": "shaft_packing", "installed_on": "2014-04-01"}
PUMP = {"item_id": "pump", "item_class": "bilge_pump", "installed_on": "2018-04-01"}
SWITCH = {"item_id": "switch", "item_class": "float_switch", "installed_on": "2018-04-01"}
BEDDING = {"item_id": "bedding", "item_class": "deck_bedding", "installed_on": "2018-04-01", "quantity": 20}
IMPELLER = {"item_id": "impeller", "item_class": "raw_water_impeller", "installed_on": "2025-04-01"}
ANODE = {"item_id": "anode", "item_class": "sacrificial_anode", "installed_on": "2026-04-01"}


def look(item, finding):
    return {"item_id": item, "date": "2026-05-20", "event": "inspected", "finding": finding}


@pytest.fixture(scope="module")
def seldom_visited(rows_of):
    return rows_of([BEDDING, ANODE, IMPELLER, PUMP, SWITCH, OLD_PACKING], boats=YACHT)


@pytest.mark.parametrize("part", ["pump", "switch"])
def test_testing_an_untested_pump_on_a_seldom_visited_boat_comes_before_rebedding(seldom_visited, part):
    assert seldom_visited.loc[part, "rank"] < seldom_visited.loc["bedding", "rank"]
    assert seldom_visited.loc[part, "task_does"] == "test"


def test_looking_at_old_packing_comes_before_bedding_anodes_and_impellers(seldom_visited):
    for other in ("bedding", "anode", "impeller"):
        assert seldom_visited.loc["packing", "rank"] < seldom_visited.loc[other, "rank"]


def test_work_that_costs_minutes_leads_the_list_of_money(demo):
    money = demo.frame[demo.frame["group"] == "money"]
    assert money["task_does"].head(10).isin(["test", "inspect"]).all()
    assert money["task_cost"].head(10).median() < money["task_cost"].median()


def test_pumps_and_switches_lead_the_list_of_money(demo):
    # What a look left suspect comes first, as it should; of the rest the untested pumps and switches lead.
    suspect = demo.standing.loc[demo.standing["found"] == "suspect", "item_id"]
    money = demo.frame[(demo.frame["group"] == "money") & ~demo.frame["item_id"].isin(suspect)]
    first = money.head(10)
    assert first["item_class"].isin(["bilge_pump", "float_switch", "high_water_alarm"]).mean() >= 0.5


def test_a_weeping_fuel_hose_comes_before_anything_that_may_yet_happen(rows_of):
    items = [
        {"item_id": "hose", "item_class": "fuel_feed_hose", "installed_on": "2023-05-01"},
        {"item_id": "bellows", "item_class": "bellows_drive", "installed_on": "2008-05-01"},
        {"item_id": "rode", "item_class": "rode_rope", "installed_on": "2008-05-01"},
    ]
    frame = rows_of(items, [look("hose", "failing")])
    assert frame.loc["hose", ["rank", "task_does"]].tolist() == [1, "renew"]


def test_among_defects_those_that_can_kill_come_first(rows_of):
    items = [
        {"item_id": "bedding", "item_class": "deck_bedding", "installed_on": "2015-05-01"},
        {"item_id": "hose", "item_class": "fuel_feed_hose", "installed_on": "2015-05-01"},
        {"item_id": "anode", "item_class": "sacrificial_anode", "installed_on": "2025-05-01"},
    ]
    frame = rows_of(items, [look(item["item_id"], "failing") for item in items])
    assert frame.loc["hose", "rank"] == 1
    assert set(frame["group"]) == {"known defect"}


def test_bellows_never_renewed_are_renewed_though_they_look_sound(rows_of):
    frame = rows_of([{"item_class": "bellows_drive", "installed_on": "2005-05-01"}], [look("I0", "sound")])
    assert frame.loc["I0", "task_does"] == "renew"


def test_the_drive_bellows_sinks_boats_oftener_than_the_exhaust_bellows(rows_of):
    items = [
        {"item_class": name, "installed_on": "2018-05-01"} for name in ("bellows_drive", "bellows_exhaust")
    ]
    frame = rows_of(items)
    assert frame.loc["I0", "sinking_probability"] > 0
    assert frame.loc["I1", "sinking_probability"] == 0


def test_a_boat_on_a_trailer_need_not_fear_its_packing_at_the_berth(rows_of):
    afloat, trailer = (
        rows_of([OLD_PACKING], boats=[{"propulsion": "inboard_shaft", "kept": kept}]).loc["packing"]
        for kept in ("afloat", "trailer")
    )
    assert trailer["sinking_probability"] < 0.2 * afloat["sinking_probability"]


def test_older_rope_is_likelier_to_part(rows_of):
    items = [{"item_class": "rode_rope", "installed_on": f"{year}-05-01"} for year in (2024, 2018, 2008)]
    assert rows_of(items)["failure_probability"].sort_index().is_monotonic_increasing


def test_anodes_and_impellers_are_the_parts_that_most_often_give_out(demo):
    yearly = demo.frame.groupby("item_class")["failure_probability"].median()
    assert yearly["raw_water_impeller"] > yearly.median()
    assert yearly["sacrificial_anode"] > yearly.median()


def test_the_common_sinkers_of_boats_at_their_berths_lead_by_sinking(demo):
    # published in kind: a boating insurer's claim study names underwater fittings, packing and bellows
    worst = demo.frame.groupby("item_class")["sinking_probability"].sum().nlargest(8).index
    named = {
        *("shaft_packing", "bellows_drive", "through_hull_seacock", "cockpit_scupper_drain", "head_plumbing"),
        *(
            "raw_water_hose",
            "sea_strainer",
            "bellows_shift",
            "face_shaft_seal",
            "drain_plug",
            "shaft_log_hose",
        ),
        *("saildrive_diaphragm",),
    }
    assert len(set(worst) & named) >= 5
