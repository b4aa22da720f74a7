"""What holds for every shipped table: sources, ranges, names, completeness."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import FrozenInstanceError, fields
from importlib.resources import files

import pytest

from riskmodel.trade import Trade, load_trade
from riskmodel.trade.rules import ALL_TABLES, TableRules

KINDS = {
    "outboard",
    "sterndrive",
    "inboard_shaft",
    "inboard_jet",
    "sail_shaft",
    "sail_saildrive",
    "sail_outboard",
}
BARRIER_CLASSES = {"bilge_pump", "float_switch", "high_water_alarm", "engine_blower", "ventilation_duct"}
AGE_RENEWED = {
    "bellows_drive",
    "bellows_shift",
    "bellows_exhaust",
    "fuel_fill_hose",
    "fuel_vent_hose",
    "fuel_feed_hose",
    "raw_water_hose",
    "wet_exhaust_hose",
    "sanitation_hose",
    "shaft_log_hose",
    "saildrive_diaphragm",
    "transom_boot",
}
FAIL_UNSEEN = BARRIER_CLASSES | {"deck_bedding", "portlight_bedding"}
# Written out, so that a class lost from the table is seen.
CLASSES = {
    *AGE_RENEWED,
    *FAIL_UNSEEN,
    "shaft_packing",
    "face_shaft_seal",
    "hose_clamps",
    "through_hull_seacock",
    "sea_strainer",
    "drain_plug",
    "transducer_fitting",
    "rudder_gland",
    "cockpit_scupper_drain",
    "livewell_drain",
    "head_plumbing",
    "aircon_plumbing",
    "exhaust_muffler",
    "exhaust_riser",
    "rode_rope",
    "rode_chain",
    "rode_shackle_snubber",
    "raw_water_impeller",
    "sacrificial_anode",
}
STATUSES = {"published", "common practice", "judgement", "from memory"}


def shipped(table: str) -> list[dict[str, str]]:
    return list(
        csv.DictReader(files("riskmodel.data.trade").joinpath(f"{table}.csv").read_text("utf-8").splitlines())
    )


def test_every_class_of_the_trade_is_there(trade: Trade) -> None:
    assert set(trade.classes) == CLASSES


def test_every_kind_of_boat_is_there(trade: Trade) -> None:
    assert set(trade.propulsions) == KINDS


@pytest.mark.parametrize("rules", ALL_TABLES, ids=lambda rules: rules.name)
def test_every_row_has_a_source_and_a_known_status(rules: TableRules) -> None:
    for row in shipped(rules.name):
        assert row["source"]
        assert row["status"] in STATUSES


@pytest.mark.parametrize("rules", ALL_TABLES, ids=lambda rules: rules.name)
def test_common_practice_and_judgement_never_pose_as_published(rules: TableRules) -> None:
    for row in shipped(rules.name):
        if row["status"] == "published":
            assert not re.search(r"judgement|no source|from memory", row["source"])
        if row["status"] == "common practice":
            assert row["source"] == "common practice, no source"


@pytest.mark.parametrize("rules", ALL_TABLES, ids=lambda rules: rules.name)
def test_rules_and_columns_are_the_same(rules: TableRules) -> None:
    assert list(shipped(rules.name)[0]) == list(rules.cells)


@pytest.mark.parametrize("rules", ALL_TABLES, ids=lambda rules: rules.name)
def test_every_shipped_range_rises(rules: TableRules) -> None:
    for row in shipped(rules.name):
        for low, high in rules.rising:
            if row[low] and row[high]:
                assert float(row[low]) <= float(row[high]), row


def test_no_table_lies_beside_the_rules() -> None:
    names = {entry.name for entry in files("riskmodel.data.trade").iterdir() if entry.name.endswith(".csv")}
    assert names == {f"{rules.name}.csv" for rules in ALL_TABLES}


def test_every_class_has_its_words(trade: Trade) -> None:
    for item in trade.classes.values():
        for words in (item.description, item.needs_work, item.lets_go, item.how_to_look):
            assert len(words) > 25, item.item_class
            assert words.endswith("."), item.item_class


def test_every_class_has_a_life_in_years_apart_from_its_looks(trade: Trade) -> None:
    for item in trade.classes.values():
        assert any(
            interval.meaning in {"renew_by", "typical_life"} and interval.unit == "years"
            for interval in item.intervals
        ), item.item_class


def test_every_class_has_a_look(trade: Trade) -> None:
    for item in trade.classes.values():
        assert any(interval.meaning == "look" for interval in item.intervals), item.item_class


def test_every_class_is_renewed_and_looked_at_by_some_task(trade: Trade) -> None:
    for item in trade.classes.values():
        does = [task.does for task in item.tasks]
        assert "renew" in does, item.item_class
        assert {"inspect", "test"} & set(does), item.item_class


def test_looking_tasks_and_only_they_say_what_they_find(trade: Trade) -> None:
    for item in trade.classes.values():
        for task in item.tasks:
            finds = task.detection_low is not None and task.detection_high is not None
            assert finds == (task.does in {"inspect", "test"}), (item.item_class, task.task)


def test_tasks_have_snake_case_names(trade: Trade) -> None:
    for item in trade.classes.values():
        for task in item.tasks:
            assert re.fullmatch(r"[a-z]+(_[a-z]+)*", task.task)


def test_fuel_hose_is_never_renewed_by_the_owner(trade: Trade) -> None:
    for name in ("fuel_fill_hose", "fuel_vent_hose", "fuel_feed_hose"):
        for task in trade.classes[name].tasks:
            if task.does == "renew":
                assert task.skill in {"licensed", "yard"}


@pytest.mark.parametrize(
    "name",
    [
        "shaft_packing",
        "face_shaft_seal",
        "bellows_drive",
        "bellows_shift",
        "through_hull_seacock",
        "transducer_fitting",
        "shaft_log_hose",
        "rudder_gland",
        "saildrive_diaphragm",
    ],
)
def test_hull_openings_are_renewed_ashore(trade: Trade, name: str) -> None:
    assert all(task.out_of_water for task in trade.classes[name].tasks if task.does == "renew")


def test_age_renewed_rubber_is_marked(trade: Trade) -> None:
    assert {name for name, item in trade.classes.items() if item.renewed_on_age} == AGE_RENEWED


def test_age_renewed_rubber_ages_as_rubber(trade: Trade) -> None:
    assert {trade.classes[name].mechanism.mechanism for name in AGE_RENEWED} == {"elastomer_ageing"}


def test_hidden_failures_are_marked(trade: Trade) -> None:
    assert {name for name, item in trade.classes.items() if item.fails_unseen} == FAIL_UNSEEN


def test_a_float_switch_gives_far_less_warning_than_a_gland(trade: Trade) -> None:
    switch, gland = trade.classes["float_switch"], trade.classes["shaft_packing"]
    assert switch.warning_high_months < gland.warning_low_months


def test_mechanism_shapes_are_those_of_the_method(trade: Trade) -> None:
    # judgement, no source: the engineering judgement written in the method
    shapes = {name: mechanism.shape for name, mechanism in trade.mechanisms.items()}
    assert shapes == {
        "installation": 0.8,
        "random": 1.0,
        "corrosion": 2.2,
        "sealant": 2.5,
        "rubbing_wear": 2.5,
        "elastomer_ageing": 3.0,
    }
    assert all(0.2 <= mechanism.log_sd <= 0.4 for mechanism in trade.mechanisms.values())


def test_barrier_classes_lead_to_nothing_but_a_nuisance(trade: Trade) -> None:
    for name in BARRIER_CLASSES:
        assert {path.end_state for path in trade.classes[name].paths} == {"nuisance"}


def test_barriers_are_made_of_barrier_classes(trade: Trade) -> None:
    assert {name for barrier in trade.barriers for name in barrier.needs} == BARRIER_CLASSES


def test_the_pump_needs_its_switch(trade: Trade) -> None:
    assert {b.needs for b in trade.barriers if b.barrier == "automatic_pump"} == {
        ("bilge_pump", "float_switch")
    }


def test_no_barrier_is_perfect(trade: Trade) -> None:
    assert all(barrier.stops_high < 1.0 for barrier in trade.barriers)


def test_an_exhaust_bellows_does_not_sink_the_boat(trade: Trade) -> None:
    ends = {path.end_state for path in trade.classes["bellows_exhaust"].paths}
    assert not ends & {"sinking_unattended", "sinking_under_way", "partial_flooding"}
    assert "bellows_exhaust" not in {row.item_class for row in trade.openings}


def test_the_drive_bellows_opens_the_hull_wider_than_the_shift_bellows(trade: Trade) -> None:
    def hole(name: str, mode: str) -> tuple[float, float]:
        row = next(row for row in trade.openings if (row.item_class, row.mode) == (name, mode))
        return row.area_low_mm2, row.area_high_mm2

    for mode in ("weep", "split", "parted"):
        for drive, shift in zip(hole("bellows_drive", mode), hole("bellows_shift", mode), strict=True):
            assert drive > shift > 0.0


def test_the_physics_leaves_barrier_parts_to_the_barriers(trade: Trade) -> None:
    physical = (trade.openings, trade.fuel_leaks, trade.exhaust_leaks, trade.slow_damage)
    assert not {row.item_class for table in physical for row in table} & BARRIER_CLASSES


@pytest.mark.parametrize("fuel", ["gasoline", "diesel"])
def test_what_an_item_may_come_to_never_adds_up_to_more_than_certain(trade: Trade, fuel: str) -> None:
    for item in trade.classes.values():
        assert sum(path.high for path in item.paths if path.fuel in {"any", fuel}) <= 1.0, item.item_class


def test_what_can_kill_is_worked_out_and_left_to_no_flat_chance(trade: Trade) -> None:
    # Whether most failures of most classes are no disaster is held against the physics.
    # An impeller lets no sea in and no gas out: what a stopped engine may come to is judged, and small.
    for item in trade.classes.values():
        flat = [path for path in item.paths if trade.end_states[path.end_state].can_kill]
        if item.item_class == "raw_water_impeller":
            assert max(path.high for path in flat) <= 0.0002
        else:
            assert not flat, item.item_class


def test_people_are_at_stake_where_they_are_aboard(trade: Trade) -> None:
    assert {name for name, end in trade.end_states.items() if end.can_kill} == {
        "sinking_under_way",
        "fire_explosion",
        "carbon_monoxide",
        "loss_of_holding",
    }


def test_what_can_kill_is_catastrophic_and_nothing_else_is(trade: Trade) -> None:
    # severity words: MIL-STD-882E, where a death is catastrophic
    for end in trade.end_states.values():
        assert (end.people_severity == "Catastrophic") == end.can_kill


def test_outfits_stay_on_the_kinds_of_boat_their_classes_occur_on(trade: Trade) -> None:
    for row in trade.outfits:
        assert row.propulsion in trade.classes[row.item_class].propulsion, row


def test_every_class_is_carried_by_each_kind_it_occurs_on(trade: Trade) -> None:
    carried = {(row.item_class, row.propulsion) for row in trade.outfits}
    assert carried == {(name, kind) for name, item in trade.classes.items() for kind in item.propulsion}


def test_defaults_leave_the_owner_to_say_value_and_build_year(trade: Trade) -> None:
    columns = {row.column for row in trade.defaults}
    assert not columns & {"built_year", "value", "season_start", "season_end", "installed_on"}


def test_each_default_is_known_for_every_kind_of_boat(trade: Trade) -> None:
    for column in {row.column for row in trade.defaults}:
        kinds = {row.propulsion for row in trade.defaults if row.column == column}
        assert kinds in ({"any"}, KINDS), column


def test_circumstances_read_columns_that_have_defaults(trade: Trade) -> None:
    assert {row.column for row in trade.circumstances} <= {row.column for row in trade.defaults}


def test_the_season_limit_says_that_it_is_an_example(trade: Trade) -> None:
    limit = trade.limits["kill_path_probability"]
    assert limit.value == 0.0003
    assert "example" in limit.meaning


def test_the_share_who_renew_at_the_interval_is_a_spread(trade: Trade) -> None:
    low, typical, high = trade.care["share_renewing_at_interval"]
    assert (low, typical, high) == (0.2, 0.45, 0.7)
    assert trade.care_sources["share_renewing_at_interval"].status == "judgement"


def test_money_has_a_currency_and_a_price_year(trade: Trade) -> None:
    tasks = [task for item in trade.classes.values() for task in item.tasks] + [trade.haul_out]
    assert {(task.currency, task.price_year) for task in tasks} == {("USD", 2025)}
    assert {(end.currency, end.price_year) for end in trade.end_states.values()} == {("USD", 2025)}


def test_the_haul_out_is_no_item(trade: Trade) -> None:
    assert "haul_out" not in trade.classes
    assert trade.haul_out.does == "access"


def test_records_cannot_be_changed(trade: Trade) -> None:
    with pytest.raises(FrozenInstanceError, match="cannot assign"):
        trade.classes["shaft_packing"].label = "other"  # type: ignore[misc]
    with pytest.raises(TypeError, match="does not support item assignment"):
        trade.classes["new"] = trade.classes["shaft_packing"]  # type: ignore[index]


def test_every_interval_and_probability_is_finite(trade: Trade) -> None:
    for item in trade.classes.values():
        for row in (*item.intervals, *item.paths):
            assert math.isfinite(row.low)
            assert math.isfinite(row.high)


def test_the_shipped_tables_are_read_once() -> None:
    assert load_trade() is load_trade()


def test_trade_holds_all_its_parts(trade: Trade) -> None:
    assert all(getattr(trade, field.name) for field in fields(Trade))
