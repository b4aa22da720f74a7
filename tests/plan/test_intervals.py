"""The table of best intervals: what it costs, what bounds it, circumstances, and the parts it is made of."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.errors import ParameterError
from riskmodel.plan import intervals_table
from riskmodel.plan.intervals.best_age import best_age
from riskmodel.plan.intervals.group import interval_groups
from riskmodel.plan.intervals.guarding import loss_while_dead
from riskmodel.plan.intervals.harm import harmful_classes, harmful_states
from riskmodel.plan.intervals.upkeep_costs import LookCosts, look_costs, part_money, upkeep_costs
from riskmodel.plan.intervals.words import BY_CONDITION
from riskmodel.risk import assess, months_ahead

BARRIERS = {"bilge_pump", "float_switch", "high_water_alarm", "engine_blower", "ventilation_duct"}
MONEY_ONLY = {"portlight_bedding"}


@pytest.fixture(scope="module")
def table(demo):
    return intervals_table(demo).set_index("item_class")


@pytest.fixture(scope="module")
def groups(demo):
    return {group.item_class.item_class: group for group in interval_groups(demo, ())}


def test_there_is_a_row_for_every_class(demo, table):
    assert table.index.tolist() == sorted(demo.lives.posterior)
    assert not table["label"].duplicated().any()
    assert table["parts"].sum() == pytest.approx(demo.fleet.items["quantity"].sum())


def test_classes_with_a_path_to_people_or_sinking_are_capped(table):
    assert set(table.index[~table["capped"]]) == MONEY_ONLY
    assert table.loc[sorted(BARRIERS & set(table.index)), "capped"].all()


def test_no_capped_advice_passes_the_renewal_age_or_the_trades_looks(table):
    capped = table[table["capped"]]
    # Where nobody publishes an age the part's condition decides.
    assert not (capped["advised_age"] > capped["renewal_limit"]).any()
    assert not np.isinf(capped["advised_age"]).any()
    assert not (capped["renewal_limit"] > capped["trade_age"]).any()
    assert (capped["advised_look_years"] <= capped["strictest_look_years"]).all()
    assert not capped["words"].str.contains("run to failure").any()


def test_a_missing_age_is_said_in_the_words_of_its_class(table):
    missing = np.isinf(table["best_age"])
    assert missing.sum() > 5
    bound = np.isfinite(table["renewal_limit"])
    assert (missing & bound & table["capped"]).any()
    assert (
        table.loc[missing & bound & table["capped"], "words"].str.startswith("money alone gives no age").all()
    )
    by_condition = table.loc[missing & ~bound & table["capped"]]
    assert len(by_condition)
    assert by_condition["words"].str.startswith(BY_CONDITION).all()
    assert by_condition["advised_age"].isna().all()
    assert table.loc[missing & ~table["capped"], "words"].str.startswith("run to failure").all()
    assert np.isinf(table.loc[missing & ~table["capped"], "advised_age"]).all()


def test_ages_stand_in_their_order(table):
    finite = table[np.isfinite(table["best_age"])]
    for share in (5, 10):
        assert (finite[f"within_{share}_percent_low"] < finite["best_age"]).all()
        assert (finite["best_age"] < finite[f"within_{share}_percent_high"]).all()
    assert (table["within_10_percent_low"] <= table["within_5_percent_low"]).all()
    assert (table["within_10_percent_high"] >= table["within_5_percent_high"]).all()
    assert (table["best_age_low"] <= table["best_age_high"]).all()
    assert (finite["best_age"] >= finite["best_age_low"]).mean() > 0.9


def test_penalties_are_shares_of_the_best(table):
    columns = ["penalty_early", "penalty_late", "penalty_trade", "look_penalty_trade"]
    assert (table[columns].fillna(0.0) >= 0.0).all(axis=None)
    finite = np.isfinite(table["best_age"])
    assert table.loc[finite, ["penalty_early", "penalty_late"]].notna().all(axis=None)
    assert table.loc[~finite, ["penalty_early", "penalty_late"]].isna().all(axis=None)
    pays = np.isfinite(table["best_look_interval_years"])
    assert table.loc[~pays, ["look_penalty_half", "look_penalty_double"]].isna().all(axis=None)


def test_the_failure_cost_is_the_mean_loss_with_a_renewal_that_cannot_wait(demo, table, groups):
    group, items = groups["raw_water_hose"], demo.fleet.items
    mine = items["item_class"] == "raw_water_hose"
    frame = demo.frame.set_index("item_id").loc[items.loc[mine, "item_id"]]
    each = frame["expected_loss"] / frame["failure_probability"]
    loss = np.average(each, weights=items.loc[mine, "quantity"])
    assert group.costs.loss == pytest.approx(loss)
    assert table.loc["raw_water_hose", "failure_cost"] == pytest.approx(loss + group.costs.at_once)
    found = best_age(group.wear, group.costs.planned, group.failure_cost)
    assert table.loc["raw_water_hose", "best_age"] == found.age


def test_what_renewal_in_time_saves_is_at_least_nothing(groups):
    for group in groups.values():
        assert 0 < group.costs.planned <= group.costs.at_once


def test_only_barriers_cost_anything_by_being_dead_unseen(demo):
    dead = loss_while_dead(demo)
    barrier = demo.fleet.items["item_class"].isin(BARRIERS).to_numpy()
    assert (dead[~barrier] == 0).all()
    assert (dead[barrier] >= 0).all()
    assert dead[barrier].max() > 10


def test_a_second_pump_makes_a_dead_one_cost_less(assessed):
    one = [
        {"item_class": "bilge_pump", "installed_on": "2020"},
        {"item_class": "float_switch", "installed_on": "2020"},
    ]
    leak = [{"item_class": "shaft_packing", "installed_on": "2012"}]
    boats = [{"propulsion": "inboard_shaft"}]
    alone = loss_while_dead(assessed(one + leak, boats=boats))[0]
    two = loss_while_dead(assessed([*one, one[0], *leak], boats=boats))
    assert 0 < two[0] < 0.75 * alone
    both = loss_while_dead(assessed([{**one[0], "quantity": 2}, one[1], *leak], boats=boats))[0]
    assert both == pytest.approx(two[0], rel=0.05)


def test_a_fleet_without_barriers_has_nothing_to_guard(assessed):
    assert loss_while_dead(assessed([{"item_class": "shaft_packing"}])).tolist() == [0.0]


def test_no_typical_life_of_ours_is_told_as_the_trades_renewal_age(demo, table):
    for name, row in table.iterrows():
        rows = demo.trade.classes[name].intervals
        published = [each for each in rows if each.meaning == "renew_by" and each.unit == "years"]
        assert np.isfinite(row["trade_age"]) == bool(published)
        assert np.isfinite(row["penalty_trade"]) == bool(published)
        if not published:
            assert "no renewal age is published" in row["words"] or row["words"].startswith("run to failure")
            assert "the trade's" not in row["words"]
    assert table.loc[["transducer_fitting", "drain_plug", "rode_shackle_snubber"], "trade_age"].isna().all()


def test_a_makers_age_bounds_what_nobody_else_publishes_one_for(assessed):
    item = {"item_class": "transducer_fitting", "installed_on": "2022"}
    free, bound = (
        intervals_table(assessed([item | more])).loc[0] for more in ({}, {"maker_interval_years": 12.0})
    )
    assert np.isnan(free["advised_age"])
    assert free["renewal_limit"] == np.inf
    assert bound["advised_age"] <= bound["renewal_limit"] == 12.0
    assert np.isnan(bound["trade_age"])


def test_an_overlay_that_makes_a_path_makes_the_class_capped(demo):
    rows = pd.DataFrame({"item_class": ["portlight_bedding"], "end_state": ["sinking_unattended"]})
    assert "portlight_bedding" in harmful_classes(demo.trade, rows)
    assert "portlight_bedding" not in harmful_classes(demo.trade, rows[:0])
    assert {"fire_explosion", "carbon_monoxide", "loss_of_holding", "injury"} < harmful_states(demo.trade)
    assert "nuisance" not in harmful_states(demo.trade)


def test_a_makers_shorter_interval_bounds_every_class(assessed):
    items = [
        {"item_class": name, "installed_on": "2022", "maker_interval_years": 1.0}
        for name in ("sacrificial_anode", "raw_water_hose", "deck_bedding")
    ]
    table = intervals_table(assessed(items)).set_index("item_class")
    assert (table["advised_age"] <= 1.0).all()
    longer = [item | {"maker_interval_years": 30.0} for item in items]
    table = intervals_table(assessed(longer)).set_index("item_class")
    assert table.loc["raw_water_hose", "advised_age"] <= table.loc["raw_water_hose", "trade_age"]


@pytest.mark.thorough
def test_circumstances_tell_apart_what_failing_costs(demo, table):
    by_kept = intervals_table(demo, by=("kept",))
    assert by_kept.columns.tolist()[:3] == ["item_class", "kept", "label"]
    pumps = by_kept[by_kept["item_class"] == "bilge_pump"].set_index("kept")
    assert pumps.loc["trailer", "failure_cost"] < pumps.loc["afloat", "failure_cost"]
    assert pumps["parts"].sum() == pytest.approx(table.loc["bilge_pump", "parts"])
    both = intervals_table(demo, by=["propulsion", "kept"])
    assert len(both) > len(by_kept) > len(table)
    assert both.groupby(["item_class", "propulsion", "kept"]).size().max() == 1


def test_warm_water_brings_rubber_forward(assessed):
    items = [{"item_class": "raw_water_hose", "vessel_id": name} for name in ("B1", "B2")]
    boats = [{"vessel_id": "B1", "climate": "cold"}, {"vessel_id": "B2", "climate": "tropical"}]
    table = intervals_table(assessed(items, boats=boats), by=("climate",)).set_index("climate")
    assert table.loc["tropical", "best_age"] < table.loc["cold", "best_age"]


def test_running_hours_count_where_the_fleet_wears_by_them(assessed):
    items = [{"item_class": "raw_water_impeller", "installed_on": "2024-05-01"}]
    ages = [
        intervals_table(assessed(items, boats=[{"hours_per_year": hours}])).loc[0, "best_age"]
        for hours in (20, 600)
    ]
    assert ages[1] < ages[0]


def test_lifts_made_anyway_are_free_and_others_are_not():
    task = LookCosts(each=10.0, yearly=300.0, other=0.0)
    assert [task.per_year(looks) for looks in (0.5, 2.0, 3.0)] == [5.0, 20.0, 330.0]
    assert LookCosts(10.0, 0.0, 300.0).per_year(2.0) == 620.0


def test_a_trailer_boat_pays_no_lift(assessed):
    items = [{"item_class": "bellows_drive", "installed_on": "2022"}]
    costs = {}
    for kept, climate in (("trailer", "tropical"), ("afloat", "temperate"), ("afloat", "tropical")):
        result = assessed(items, boats=[{"kept": kept, "climate": climate}])
        money, item_class = part_money(result), result.trade.classes["bellows_drive"]
        look = next(task for task in item_class.tasks if task.does == "inspect")
        costs[kept, climate] = upkeep_costs(item_class, money), look_costs(look, money).per_year(2.0)
    trailer, wintered, afloat = costs.values()
    assert trailer[0].planned == trailer[0].at_once == wintered[0].planned
    assert wintered[0].at_once == afloat[0].planned == afloat[0].at_once > trailer[0].at_once
    assert trailer[1] == wintered[1] == 60.0
    assert afloat[1] > 500.0


def test_the_keepers_own_cost_counts(assessed):
    items = [{"item_class": "raw_water_hose", "installed_on": "2022", "renew_cost": 900.0, "quantity": 3}]
    result = assessed(items)
    assert upkeep_costs(result.trade.classes["raw_water_hose"], part_money(result)).planned == pytest.approx(
        300.0
    )


def test_a_column_that_is_none_of_the_vessels_is_refused(demo):
    with pytest.raises(ParameterError, match="by must name columns of the vessels, got colour"):
        intervals_table(demo, by=("kept", "colour"))


@pytest.mark.parametrize("name", ["raw_water_hose", "bilge_pump", "rode_rope", "exhaust_riser"])
def test_the_intervals_hardly_hang_on_how_far_one_looks_ahead(fleet_of, name):
    items = [
        {"item_class": each, "installed_on": "2020-06-01"}
        for each in ("raw_water_hose", "bilge_pump", "float_switch", "rode_rope", "exhaust_riser")
    ]
    fleet = fleet_of(items, boats=[{"kept": "mooring"}])
    short, long = (
        intervals_table(assess(fleet, until=months_ahead(fleet.as_of, months)))
        .set_index("item_class")
        .loc[name]
        for months in (3, 12)
    )
    assert short["failure_cost"] == pytest.approx(long["failure_cost"], rel=0.15)
    assert short["advised_age"] == pytest.approx(long["advised_age"], rel=0.1, nan_ok=True)


def test_the_same_fleet_gives_the_same_table(demo, table):
    again = intervals_table(demo).set_index("item_class")
    pd.testing.assert_frame_equal(again, table)


def test_nobody_is_told_to_wait_longer_for_a_dearer_failure(assessed):
    items = [{"item_class": name, "installed_on": "2018"} for name in ("bellows_drive", "exhaust_riser")]
    cheap, dear = (
        intervals_table(assessed(items, boats=[{"value": value}])).set_index("item_class")
        for value in (8_000, 200_000)
    )
    assert (dear["failure_cost"] > cheap["failure_cost"]).all()
    assert (dear["best_age"] <= cheap["best_age"]).all()
    assert (dear["advised_age"] <= cheap["advised_age"]).all()
