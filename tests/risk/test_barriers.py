"""Barriers: working pumps and switches keep boats afloat, dead ones do not, and a test is worth what it saves."""

import numpy as np
import pytest

from riskmodel.consequence import barriers_against
from riskmodel.life.looks import window_nodes
from riskmodel.risk.draws import DRAWS
from riskmodel.risk.outcomes import barrier_ready, mix_barriers
from riskmodel.risk.parts import Parts, as_new, as_tested
from riskmodel.risk.working import any_working, not_working
from riskmodel.trade import load_trade

TRADE = load_trade()
PACKING = {"item_id": "packing", "item_class": "shaft_packing", "installed_on": "2016-04-01"}
PUMP = {"item_id": "pump", "item_class": "bilge_pump", "installed_on": "2021-04-01"}
SWITCH = {"item_id": "switch", "item_class": "float_switch", "installed_on": "2021-04-01"}
BOATS = [{"propulsion": "sail_shaft", "checked_every_days": 30, "value": 60000}]


def water(item, finding):
    return {"item_id": item, "date": "2026-05-20", "event": "tested", "finding": finding}


@pytest.fixture(scope="module")
def boat(rows_of):
    """Frames by item of one yacht with these parts, once for each set of parts and records."""
    known = {}

    def run(*items, records=()):
        key = str((items, records))
        if key not in known:
            known[key] = rows_of(list(items), list(records), BOATS)
        return known[key]

    return run


def test_a_working_pump_lowers_sinking(boat):
    alone, guarded = (
        boat(PACKING),
        boat(PACKING, PUMP, SWITCH, records=(water("pump", "sound"), water("switch", "sound"))),
    )
    assert guarded.loc["packing", "sinking_probability"] < 0.7 * alone.loc["packing", "sinking_probability"]
    assert guarded.loc["packing", "failure_probability"] == alone.loc["packing", "failure_probability"]


@pytest.mark.parametrize("part", [PUMP, SWITCH], ids=["pump alone", "switch alone"])
def test_half_a_barrier_stops_nothing(boat, part):
    alone, half = boat(PACKING), boat(PACKING, part)
    assert half.loc["packing", "sinking_probability"] == pytest.approx(
        alone.loc["packing", "sinking_probability"]
    )


@pytest.mark.parametrize("dead", ["pump", "switch"])
def test_a_dead_pump_or_switch_raises_sinking_of_the_parts_it_guards(boat, dead):
    good = boat(PACKING, PUMP, SWITCH, records=(water("pump", "sound"), water("switch", "sound")))
    bad = boat(PACKING, PUMP, SWITCH, records=(water(dead, "failed"),))
    alone = boat(PACKING)
    assert bad.loc["packing", "sinking_probability"] > 1.3 * good.loc["packing", "sinking_probability"]
    assert bad.loc["packing", "sinking_probability"] == pytest.approx(
        alone.loc["packing", "sinking_probability"]
    )


def test_an_untested_switch_leaves_more_sinking_than_a_tested_one(boat):
    records = (water("pump", "sound"),)
    untested = boat(PACKING, PUMP, SWITCH, records=records)
    known = boat(PACKING, PUMP, SWITCH, records=(*records, water("switch", "sound")))
    assert untested.loc["packing", "sinking_probability"] > known.loc["packing", "sinking_probability"]


@pytest.mark.parametrize("part", ["pump", "switch"])
def test_testing_an_untested_barrier_is_worth_more_than_it_can_lose_itself(boat, part):
    row = boat(PACKING, PUMP, SWITCH).loc[part]
    assert row["loss_averted"] > 3 * row["expected_loss"]
    assert row["task_does"] == "test"
    assert row["averted_per_cost"] > 1


def test_a_barrier_cannot_sink_the_boat_by_itself(boat):
    frame = boat(PACKING, PUMP, SWITCH)
    assert frame.loc[["pump", "switch"], "sinking_probability"].tolist() == [0.0, 0.0]
    assert frame.loc["pump", "expected_loss"] < 0.05 * frame.loc["packing", "expected_loss"]


def test_renewing_a_dead_switch_averts_what_it_then_guards(boat):
    row = boat(PACKING, PUMP, SWITCH, records=(water("pump", "sound"), water("switch", "failed"))).loc[
        "switch"
    ]
    assert row[["rank", "task_does"]].tolist() == [1, "renew"]
    assert row["loss_averted"] > 20


def test_a_pump_with_nothing_but_rain_to_guard_against_averts_less(boat):
    guarding, idle = boat(PACKING, PUMP, SWITCH), boat(PUMP, SWITCH)
    assert 0 < idle.loc["switch", "loss_averted"] < 0.5 * guarding.loc["switch", "loss_averted"]


def test_a_pump_under_a_cover_with_nothing_to_guard_averts_next_to_nothing(rows_of):
    covered = [BOATS[0] | {"covered": "yes", "self_draining": "yes"}]
    guarding, idle = (rows_of(items, [], covered) for items in ([PACKING, PUMP, SWITCH], [PUMP, SWITCH]))
    assert idle.loc["switch", "loss_averted"] < 0.02 * guarding.loc["switch", "loss_averted"]


def test_a_second_pump_guards_better_than_one(boat):
    second = PUMP | {"item_id": "second"}
    one, two = boat(PACKING, PUMP, SWITCH), boat(PACKING, PUMP, second, SWITCH)
    assert two.loc["packing", "sinking_probability"] < one.loc["packing", "sinking_probability"]
    assert two.loc["pump", "loss_averted"] < one.loc["pump", "loss_averted"]


def test_a_blower_and_duct_lower_fire_from_a_fuel_leak(rows_of):
    hose = {"item_id": "hose", "item_class": "fuel_feed_hose", "installed_on": "2008-04-01"}
    guards = [
        {"item_id": name, "item_class": name, "installed_on": "2025-05-01"}
        for name in ("engine_blower", "ventilation_duct")
    ]
    alone, aired = rows_of([hose]), rows_of([hose, *guards])
    assert aired.loc["hose", "fire_probability"] < 0.8 * alone.loc["hose", "fire_probability"]


def test_a_barrier_that_is_not_fitted_is_never_ready():
    barrier = TRADE.barriers[0]
    assert barrier_ready(barrier.needs, {}, 2).max() == 0.0
    half = {barrier.needs[0]: np.ones((2, DRAWS))}
    assert barrier_ready(barrier.needs, half, 2).max() == 0.0


def test_a_barrier_is_ready_when_everything_it_needs_works():
    barrier = TRADE.barriers[0]
    works = {name: np.full((1, DRAWS), 0.5) for name in barrier.needs}
    assert barrier_ready(barrier.needs, works, 1) == pytest.approx(0.25)


# Chance by barrier state: none works, the first, the second, both.
FOLLOWS = np.array([[[0.4, 0.1, 0.3, 0.05]]])
ONE = np.zeros(4, dtype=np.intp)


def test_what_follows_is_mixed_over_the_states_of_two_barriers():
    first, second = np.array([[0.0, 1.0, 0.5, 0.5]]), np.array([[0.0, 1.0, 0.0, 0.5]])
    mixed = mix_barriers(FOLLOWS, [first, second], ONE)
    by_hand = [0.4, 0.05, 0.25, 0.25 * (0.4 + 0.1 + 0.3 + 0.05)]
    assert mixed.chance[0] == pytest.approx(by_hand)


def test_it_falls_with_each_barrier_as_a_small_step_of_it_shows():
    first, second = np.array([[0.2, 0.7, 0.4, 0.9]]), np.array([[0.6, 0.1, 0.5, 0.0]])
    mixed = mix_barriers(FOLLOWS, [first, second], ONE)
    for number, falls in enumerate(mixed.falls):
        more = [first + 0.01 * (number == 0), second + 0.01 * (number == 1)]
        step = (mixed.chance - mix_barriers(FOLLOWS, more, ONE).chance) / 0.01
        assert falls == pytest.approx(step)


def test_an_end_state_without_barriers_follows_whatever_works():
    assert barriers_against("structural_damage", TRADE) == ()
    assert mix_barriers(FOLLOWS, [], ONE).chance == pytest.approx(0.4)


def test_a_part_carried_by_some_boats_works_on_those_only():
    working = np.full((3, 1), 0.9)
    dead = not_working(working, np.array([1.0, 0.4, 2.0]))
    assert dead[:, 0] == pytest.approx([0.1, 0.64, 0.01])


def test_any_of_a_boats_parts_is_enough():
    dead = np.array([[0.1], [0.5], [0.3]])
    assert any_working(dead, np.array([0, 0, 2]), 3)[:, 0] == pytest.approx([0.95, 0.0, 0.7])


def test_a_test_moves_the_last_known_day_to_today_and_renewal_the_age_to_nought():
    one, none = np.ones(1), np.zeros(1)
    parts = Parts(
        age=np.array([4.0]),
        gap=np.array([2.0]),
        quantity=one,
        cell=np.array([-1]),
        ages=none,
        weights=np.zeros((0, 3, 1)),
        kind=np.array([0]),
        speed=np.ones((1, 1)),
        reach=one,
        looks=None,
        windows=window_nodes(0.1, 1.0),
        lot=np.array([-1]),
        lots=(),
        lot_correction=1.0,
        hours=none,
        unmetered=none,
        rate=one,
        rate_sd=0.0,
    )
    assert (as_tested(parts).age[0], as_tested(parts).gap[0]) == (6.0, 0.0)
    assert (as_new(parts).age[0], as_new(parts).gap[0]) == (0.0, 0.0)
