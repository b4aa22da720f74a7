"""An organisation's own rows replace or add to the shipped ones, and are refused with every fault named."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskmodel.errors import ParameterError, TableError
from riskmodel.trade import Trade, load_trade

OWN = {"source": "our workshop book", "status": "judgement"}


def test_an_empty_folder_changes_nothing(trade: Trade, tmp_path: Path) -> None:
    assert load_trade(tmp_path) == trade


def test_an_overlay_interval_replaces_those_of_its_meaning_only(trade: Trade, overlay) -> None:
    row = {"item_class": "bellows_drive", "meaning": "renew_by", "low": 2, "high": 2, **OWN}
    intervals = load_trade(overlay("intervals", row)).classes["bellows_drive"].intervals
    renew_by = [interval for interval in intervals if interval.meaning == "renew_by"]
    assert [(interval.low, interval.source) for interval in renew_by] == [(2.0, "our workshop book")]
    kept = [
        interval for interval in trade.classes["bellows_drive"].intervals if interval.meaning != "renew_by"
    ]
    assert [interval for interval in intervals if interval.meaning != "renew_by"] == kept


def test_other_classes_stay_as_shipped(trade: Trade, overlay) -> None:
    row = {"item_class": "bellows_drive", "meaning": "renew_by", "low": 2, "high": 2, **OWN}
    own = load_trade(overlay("intervals", row))
    assert own.classes["bellows_shift"] == trade.classes["bellows_shift"]


def test_several_own_rows_may_disagree(overlay) -> None:
    row = {"item_class": "bellows_drive", "meaning": "renew_by", "low": 2, "high": 2, **OWN}
    own = load_trade(overlay("intervals", row, row | {"low": 4, "high": 6}))
    assert [i.low for i in own.classes["bellows_drive"].intervals if i.meaning == "renew_by"] == [2.0, 4.0]


def test_an_overlay_task_price_replaces_ours(overlay) -> None:
    row = {"item_class": "shaft_packing", "task": "repack", "cost_low": 90, "cost_high": 95, **OWN}
    tasks = {task.task: task for task in load_trade(overlay("tasks", row)).classes["shaft_packing"].tasks}
    assert (tasks["repack"].cost_low, tasks["repack"].cost_high) == (90.0, 95.0)
    assert "count_drips" in tasks


def test_an_overlay_mechanism_reaches_its_classes(overlay) -> None:
    row = {"mechanism": "sealant", "shape": 3.5, "log_sd": 0.2, **OWN}
    assert load_trade(overlay("mechanisms", row)).classes["deck_bedding"].mechanism.shape == 3.5


def test_an_overlay_limit_replaces_ours(overlay) -> None:
    row = {"limit": "kill_path_probability", "value": 0.0002, **OWN}
    assert load_trade(overlay("limits", row)).limits["kill_path_probability"].value == 0.0002


def test_an_organisation_can_add_a_class_of_its_own(trade: Trade, overlay) -> None:
    new = {"item_class": "stern_thruster_seal", **OWN}
    overlay("classes", new | {"clock": "age"})
    overlay("intervals", new | {"meaning": "renew_by", "low": 4, "high": 6, "unit": "years"})
    overlay("tasks", new | {"task": "renew_seal"}, new | {"task": "look_over", "does": "inspect"})
    overlay("detection", *(new | {"thoroughness": look} for look in ("glanced", "handled", "opened")))
    folder = overlay("paths", new | {"low": 0.001, "high": 0.01})
    own = load_trade(folder)
    assert set(own.classes) - set(trade.classes) == {"stern_thruster_seal"}
    assert [task.task for task in own.classes["stern_thruster_seal"].tasks] == ["renew_seal", "look_over"]


def test_an_added_class_without_life_task_or_path_is_refused_for_each(overlay) -> None:
    folder = overlay("classes", {"item_class": "stern_thruster_seal", "clock": "age", **OWN})
    with pytest.raises(TableError, match="must have a renew_by or typical_life interval in years") as refusal:
        load_trade(folder)
    rules = {problem.rule for problem in refusal.value.problems}
    assert rules == {
        "must have a renew_by or typical_life interval in years",
        "must have a task that renews it",
        "must have a task that inspects or tests it",
        "must have a path to an end state",
        "must have a detection row for glanced, handled, opened",
    }


def test_a_look_interval_never_stands_in_for_a_life(overlay) -> None:
    new = {"item_class": "stern_thruster_seal", **OWN}
    overlay("classes", new)
    folder = overlay("intervals", new | {"meaning": "look", "low": 1, "high": 1, "unit": "years"})
    with pytest.raises(TableError, match="must have a renew_by or typical_life interval in years"):
        load_trade(folder)


def test_an_organisation_adds_cautions_but_takes_none_away(trade: Trade, overlay) -> None:
    row = {"topic": "foot", "applies_to": "all", "text": "Sign the boat in and out.", **OWN}
    own = load_trade(overlay("cautions", row))
    assert own.cautions[:-1] == trade.cautions
    assert own.cautions[-1].text == "Sign the boat in and out."


def test_loading_an_overlay_leaves_the_shipped_tables_alone(trade: Trade, overlay) -> None:
    load_trade(overlay("limits", {"limit": "kill_path_probability", "value": 0.5, **OWN}))
    assert load_trade() is trade
    assert trade.limits["kill_path_probability"].value == 0.0003


def test_a_bad_cell_is_named_by_file_row_column_rule_and_value(overlay) -> None:
    row = {"item_class": "bellows_drive", "meaning": "renew_by", "low": "three", "high": 4, **OWN}
    with pytest.raises(TableError, match=r"intervals\.csv row 2: low must be a number above 0, got 'three'"):
        load_trade(overlay("intervals", row))


def test_all_faults_of_all_tables_come_at_once(overlay) -> None:
    bad = {"item_class": "bellows_drive", "meaning": "renew_when", "low": -1, "high": 4, **OWN}
    overlay("intervals", bad, bad | {"meaning": "look", "low": 9, "high": 4})
    folder = overlay("mechanisms", {"mechanism": "sealant", "shape": 0, "status": "guess"})
    with pytest.raises(TableError, match="renew_by, typical_life, look, opportunity") as refusal:
        load_trade(folder)
    places = [(Path(p.file).name, p.row, p.column) for p in refusal.value.problems]
    assert places == [
        ("intervals.csv", 2, "meaning"),
        ("intervals.csv", 2, "low"),
        ("intervals.csv", 3, "low"),
        ("mechanisms.csv", 2, "shape"),
        ("mechanisms.csv", 2, "status"),
    ]


@pytest.mark.parametrize(
    ("table", "row", "message"),
    [
        ("intervals", {"low": 5, "high": 4}, r"low must not be above high \(4\), got '5'"),
        ("intervals", {"unit": "months"}, "unit must be one of years, hours, got 'months'"),
        ("intervals", {"low": "nan"}, "low must be a number above 0, got 'nan'"),
        ("intervals", {"high": "inf"}, "high must be a number above 0, got 'inf'"),
        ("intervals", {"source": ""}, "source must not be empty"),
        ("intervals", {"status": "certain"}, "status must be one of published, common practice"),
        ("intervals", {"item_class": "belows_drive"}, r"known item_class \(nearest: bellows_drive\)"),
        ("classes", {"mechanism": "magic"}, "must name a known mechanism, got 'magic'"),
        ("classes", {"propulsion": "inboard_shaft;oars"}, "must name a known propulsion"),
        ("classes", {"propulsion": "inboard_shaft;"}, "must be one or more words joined by ';'"),
        ("classes", {"fails_unseen": "maybe"}, "fails_unseen must be one of yes, no, got 'maybe'"),
        ("tasks", {"does": "polish"}, "does must be one of renew, inspect, test, adjust, access"),
        ("tasks", {"skill": "wizard"}, "skill must be one of owner, yard, licensed"),
        ("tasks", {"price_year": "25"}, "price_year must be a year in four digits, got '25'"),
        ("tasks", {"cost_low": -5}, "cost_low must be a number from 0 up, got '-5'"),
        ("tasks", {"detection_low": 1.2}, "detection_low must be a number from 0 to 1, got '1.2'"),
        ("tasks", {"reference_length_m": 0}, "reference_length_m must be a number above 0, got '0'"),
        ("paths", {"high": 1.5}, "high must be a number from 0 to 1, got '1.5'"),
        (
            "paths",
            {"item_class": "exhaust_riser", "high": 0.95},
            "must not bring the class's sum over 1 with gasoline",
        ),
        ("paths", {"end_state": "sinking_unatended"}, r"known end_state \(nearest: sinking_unattended\)"),
        ("paths", {"fuel": "coal"}, "fuel must be one of any, gasoline, diesel, got 'coal'"),
        ("end_states", {"people_severity": "Bad"}, "people_severity must be one of Catastrophic, Critical"),
        ("circumstances", {"level": "daily"}, r"level must have either a level or a band"),
        ("circumstances", {"below": ""}, r"level must have either a level or a band"),
        ("circumstances", {"factor_low": 2}, "factor_low must not be above factor_high"),
        ("barriers", {"needs": "bilge_pump+bucket"}, "must name a known needs, got 'bilge_pump.bucket'"),
        ("outfits", {"propulsion": "oars"}, "must name a known propulsion, got 'oars'"),
        ("outfits", {"item_class": "saildrive_diaphragm"}, "must be one that saildrive_diaphragm occurs on"),
        (
            "outfits",
            {"length_from_m": 9, "length_below_m": 5},
            "length_from_m must not be above length_below_m",
        ),
        ("outfits", {"quantity": "some"}, "quantity must be a number from 0 up, got 'some'"),
        ("care", {"typical": 0.9}, "typical must not be above high"),
        ("defaults", {"table": "owners"}, "table must be one of vessels, items, got 'owners'"),
        ("practice", {"item_class": "gland"}, "must name a known item_class, got 'gland'"),
        ("cautions", {"applies_to": "everything"}, "must name a known applies_to, got 'everything'"),
        ("regulations", {"value": ""}, "value must not be empty"),
        ("openings", {"bore_mm": 99}, r"bore_mm must be as in the class's first row"),
        ("openings", {"share_low": 2}, "share_low must be a number from 0 to 1"),
        ("background", {"gathers": "often"}, "gathers must be one of yes, no"),
        ("physics", {"low": 9e9}, "low must not be above typical"),
    ],
)
def test_a_broken_rule_is_refused(overlay, table: str, row: dict[str, object], message: str) -> None:
    with pytest.raises(TableError, match=message):
        load_trade(overlay(table, row))


def test_a_repeated_row_is_refused(overlay) -> None:
    row = {"item_class": "shaft_packing", "task": "repack", **OWN}
    with pytest.raises(TableError, match=r"tasks\.csv row 3: task must not repeat item_class, task"):
        load_trade(overlay("tasks", row, row))


def test_other_columns_are_refused(tmp_path: Path) -> None:
    (tmp_path / "limits.csv").write_text("limit,worth\nkill_path_probability,0.1\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"limits\.csv row 1: must have the columns limit, value, unit"):
        load_trade(tmp_path)


def test_a_table_that_cannot_be_read_brings_no_echo_from_the_others(tmp_path: Path) -> None:
    (tmp_path / "classes.csv").write_text("name\nshaft_packing\n", encoding="utf-8")
    with pytest.raises(TableError, match="must have the columns item_class") as refusal:
        load_trade(tmp_path)
    assert len(refusal.value.problems) == 1


def test_text_in_another_encoding_is_refused(tmp_path: Path) -> None:
    (tmp_path / "limits.csv").write_bytes("limit,value\nl\xe9gal,1\n".encode("latin-1"))
    with pytest.raises(
        TableError, match=r"limits\.csv row 2: must be saved as UTF-8 text .*, got the byte 0xe9"
    ):
        load_trade(tmp_path)


def test_a_table_with_a_misspelt_name_is_refused(tmp_path: Path) -> None:
    (tmp_path / "interval.csv").write_text("item_class\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"must be named as a trade table: .*intervals.*, got interval\.csv"):
        load_trade(tmp_path)


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ParameterError, match=r"overlay must be a folder of trade tables, got .*nowhere"):
        load_trade(tmp_path / "nowhere")
