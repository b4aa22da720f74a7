"""Slow damage of kinds of part: covered classes, monotone circumstances, and what a delay costs."""

import math

import numpy as np
import pandas as pd
import pytest

from riskmodel.consequence.follow import BARRIER_STATES, SCENARIOS, scenarios
from riskmodel.consequence.slow import (
    USES,
    loss_growth,
    slow_classes,
    slow_follows,
    slow_pairs,
    slow_steps,
)
from riskmodel.errors import ParameterError
from riskmodel.trade import load_trade

TRADE = load_trade()
CUBE = scenarios()
BOAT = {
    **{
        "core": "balsa",
        "climate": "temperate",
        "water": "salt",
        "kept": "afloat",
        "propulsion": "sail_shaft",
    },
    **{"length_m": 10.0, "checked_every_days": 7.0, "launched_share": 1.0, "used_share": 1.0},
}
BEDDING = ("deck_bedding", "portlight_bedding")
WET = ("bellows_drive", "bellows_shift", "shaft_packing", "face_shaft_seal", "sacrificial_anode")
# One word after the other that may not lower, whatever the class.
RISING = {
    "core": ("solid", "foam", "plywood", "balsa"),
    "water": ("fresh", "brackish", "salt"),
    "kept": ("ashore", "trailer", "afloat"),
    "climate": ("temperate", "hot", "tropical"),
    "checked_every_days": (1.0, 7.0, 30.0, 90.0),
}


def kinds(*rows):
    return pd.DataFrame([BOAT | row for row in rows], columns=list(USES))


def expected(frame):
    """(n, S) chance x loss factor over the end states: the expected loss against the reference loss."""
    return sum(each.chance[..., 0] * each.loss_factor for each in slow_follows(frame, TRADE, CUBE).values())


def test_the_pairs_that_grow_with_time_are_these():
    assert set(slow_pairs(TRADE)) == {(name, "structural_damage") for name in BEDDING} | {
        (name, "machinery_damage") for name in WET
    }
    assert slow_classes(TRADE) == set(BEDDING) | set(WET)


def test_answers_have_the_shape_of_a_follow():
    found = slow_follows(kinds({"item_class": "deck_bedding"}, {"item_class": "bellows_drive"}), TRADE, CUBE)
    for each in found.values():
        assert each.chance.shape == (2, SCENARIOS, BARRIER_STATES)
        assert each.loss_factor.shape == (2, SCENARIOS)
        assert (each.chance >= 0).all()
        assert (each.chance <= 0.95).all()
        assert (each.loss_factor > 0).all()


def test_no_barrier_changes_it():
    for each in slow_follows(kinds({"item_class": "bellows_drive"}), TRADE, CUBE).values():
        assert (each.chance == each.chance[..., :1]).all()


@pytest.mark.parametrize("name", ["raw_water_impeller", "exhaust_riser", "bilge_pump", "rode_chain"])
def test_what_is_sudden_is_left_to_the_table_of_paths(name):
    frame = kinds({"item_class": name})
    for each in slow_follows(frame, TRADE, CUBE).values():
        assert (each.chance == 0).all()
        assert (each.loss_factor == 1).all()
    assert (loss_growth(np.array([0.0, 60.0]), frame, TRADE, CUBE) == 0).all()
    assert slow_steps(frame, TRADE, CUBE).isna().all(axis=None)


def test_each_class_comes_to_its_own_end_state_only():
    found = slow_follows(kinds({"item_class": "deck_bedding"}, {"item_class": "bellows_drive"}), TRADE, CUBE)
    assert (found["structural_damage"].chance[..., 0] > 0).all(axis=1).tolist() == [True, False]
    assert (found["machinery_damage"].chance[..., 0] > 0).all(axis=1).tolist() == [False, True]


@pytest.mark.parametrize("column", RISING)
@pytest.mark.parametrize("name", [*BEDDING, *WET])
def test_worse_circumstances_never_lower_the_loss_in_any_scenario(name, column):
    loss = expected(kinds(*({"item_class": name, column: word} for word in RISING[column])))
    assert (np.diff(loss, axis=0) >= -1e-12).all()


@pytest.mark.parametrize("name", BEDDING)
@pytest.mark.parametrize("core", ["solid", "foam", "plywood", "balsa"])
def test_frost_never_lowers_the_loss_of_a_wet_core(name, core):
    loss = expected(kinds(*({"item_class": name, "core": core, "climate": c} for c in ("temperate", "cold"))))
    assert (loss[1] >= loss[0]).all()


@pytest.mark.parametrize("name", BEDDING)
def test_warmth_rots_wood_and_not_foam(name):
    wood, foam = (
        expected(
            kinds(*({"item_class": name, "core": core, "climate": c} for c in ("temperate", "tropical")))
        )
        for core in ("balsa", "foam")
    )
    assert wood[1].mean() > wood[0].mean()
    assert np.array_equal(foam[0], foam[1])


@pytest.mark.parametrize("name", WET)
def test_salt_water_harms_more_than_fresh(name):
    salt, fresh = expected(kinds(*({"item_class": name, "water": water} for water in ("salt", "fresh"))))
    assert salt.mean() > fresh.mean()


def test_an_aluminium_drive_loses_more_to_a_missing_anode_than_a_bronze_propeller():
    kind = {"item_class": "sacrificial_anode"}
    shaft, drive = expected(kinds(kind, kind | {"propulsion": "sterndrive"}))
    assert (drive >= shaft).all()
    assert drive.mean() > 1.3 * shaft.mean()


def test_a_wet_patch_is_a_smaller_part_of_a_longer_boats_repair():
    short, long = expected(
        kinds(*({"item_class": "deck_bedding", "length_m": length} for length in (7.0, 14.0)))
    )
    assert (long <= short).all()


@pytest.mark.parametrize("name", [*BEDDING, *WET])
def test_finding_it_later_never_costs_less(name):
    months = np.arange(0.0, 200.0, 0.5)
    (found,) = loss_growth(months, kinds({"item_class": name}), TRADE, CUBE)
    assert found[0] == 0.0
    assert (np.diff(found) >= 0).all()
    assert found[-1] > found[4]


def test_the_expected_loss_lies_between_finding_at_once_and_never():
    frame = kinds(*({"item_class": name} for name in (*BEDDING, *WET)))
    never = loss_growth(np.array([1e5]), frame, TRADE, CUBE)[:, 0]
    mean = expected(frame).mean(axis=1)
    assert (mean > 0).all()
    assert (mean < never).all()


def test_months_before_the_failure_are_refused():
    with pytest.raises(ParameterError, match=r"months must be 0 or more and finite, got -3\.0 at position 1"):
        loss_growth(np.array([0.0, -3.0]), kinds({"item_class": "deck_bedding"}), TRADE, CUBE)


def test_kinds_do_not_touch_one_another():
    alone = expected(kinds({"item_class": "shaft_packing"}))
    among = expected(
        kinds({"item_class": "deck_bedding"}, {"item_class": "shaft_packing"}, {"item_class": "float"})
    )
    assert np.array_equal(among[1], alone[0])


def test_steps_show_what_the_answer_is_made_of():
    frame = kinds({"item_class": "deck_bedding"}, {"item_class": "bilge_pump"})
    frame.index = pd.Index([5, 9])
    steps = slow_steps(frame, TRADE, CUBE)
    assert steps.index.tolist() == [5, 9]
    assert steps.loc[5].notna().all()
    assert steps.loc[9].isna().all()
    assert steps.loc[5, "look_every_months"] > 12.0
    rarely = slow_steps(kinds({"item_class": "deck_bedding", "checked_every_days": 60.0}), TRADE, CUBE)
    assert rarely.loc[0, "months_unseen"] > steps.loc[5, "months_unseen"]


def test_the_table_names_only_words_that_vessels_may_hold():
    words = {
        "core": {"solid", "foam", "balsa", "plywood"},
        "water": {"salt", "brackish", "fresh"},
        "climate": {"cold", "temperate", "hot", "tropical"},
        "kept": {"afloat", "mooring", "trailer", "rack", "ashore"},
    }
    for row in TRADE.slow_damage:
        for column, allowed in words.items():
            assert getattr(row, column) in allowed | {""}, row


def test_a_blank_circumstance_counts_as_the_reference():
    known = expected(kinds({"item_class": "bellows_drive"}))
    blank = expected(kinds({"item_class": "bellows_drive", "water": None, "climate": math.nan}))
    assert np.array_equal(known, blank)
