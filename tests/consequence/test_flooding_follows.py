"""P(sink | lets go) moves the way the sea does: deeper, bigger, longer alone is worse; pump, alarm, power better."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.consequence.flooding.follows import flooding_follows
from riskmodel.consequence.flooding.openings import opening_classes
from riskmodel.trade import load_trade

CLASSES = sorted(opening_classes(load_trade()))
SINKING = ("sinking_unattended", "sinking_under_way")
NONE, PUMP, ALARM, BOTH = range(4)
CLASS, VISITS = st.sampled_from(CLASSES), st.floats(0.5, 120)
ROUNDING = 1e-9


@pytest.fixture(scope="module")
def sinks(kinds_of, trade, cube):
    """Chances (kinds, S, states) of sinking, at a berth and under way."""

    def run(*changes):
        found = flooding_follows(kinds_of(*changes), trade, cube)
        return [found[name].chance for name in SINKING]

    return run


def never_higher(chances, first, second):
    return all((chance[second] <= chance[first] + ROUNDING).all() for chance in chances)


@settings(max_examples=40)
@given(CLASS, VISITS, st.floats(0.02, 1.5), st.floats(1.0, 3.0))
def test_deeper_never_lowers_the_chance_of_sinking(sinks, name, visits, depth, factor):
    part = {"item_class": name, "visited_every_days": visits}
    assert never_higher(sinks(part | {"depth_m": depth * factor}, part | {"depth_m": depth}), 0, 1)


@settings(max_examples=40)
@given(CLASS, VISITS, st.floats(5, 100), st.floats(1.0, 3.0))
def test_a_bigger_opening_never_lowers_it(sinks, name, visits, bore, factor):
    part = {"item_class": name, "visited_every_days": visits}
    assert never_higher(sinks(part | {"bore_mm": bore * factor}, part | {"bore_mm": bore}), 0, 1)


@settings(max_examples=40)
@given(CLASS, VISITS, st.floats(1.0, 5.0), st.booleans())
def test_longer_unattended_never_lowers_it(sinks, name, visits, factor, power):
    part = {"item_class": name, "shore_power": power}
    longer, shorter = part | {"visited_every_days": visits * factor}, part | {"visited_every_days": visits}
    assert never_higher(sinks(longer, shorter), 0, 1)


@settings(max_examples=40)
@given(CLASS, VISITS, st.floats(5, 200), st.floats(1.0, 5.0), st.booleans())
def test_a_bigger_pump_never_raises_it(sinks, name, visits, flow, factor, power):
    # The same motor behind a bigger label draws as much: what a bigger one draws is not the flow's doing.
    part = {"item_class": name, "visited_every_days": visits, "shore_power": power, "pump_amps": 4.0}
    assert never_higher(sinks(part | {"pump_lpm": flow}, part | {"pump_lpm": flow * factor}), 0, 1)


@settings(max_examples=40)
@given(CLASS, VISITS, st.booleans(), st.booleans())
def test_a_working_pump_or_alarm_never_raises_it(sinks, name, visits, power, telemetry):
    part = {
        **{"item_class": name, "visited_every_days": visits, "shore_power": power},
        **{"alarm_telemetry": telemetry},
    }
    for chance in sinks(part):
        none, pump, alarm, both = np.moveaxis(chance, 2, 0)
        assert (pump <= none + ROUNDING).all()
        assert (alarm <= none + ROUNDING).all()
        assert (both <= np.minimum(pump, alarm) + ROUNDING).all()


@settings(max_examples=40)
@given(CLASS, VISITS, st.floats(20, 400), st.floats(1.0, 4.0))
def test_shore_power_and_a_bigger_battery_never_raise_it(sinks, name, visits, battery, factor):
    part = {"item_class": name, "visited_every_days": visits, "battery_ah": battery, "shore_power": False}
    chances = sinks(part, part | {"battery_ah": battery * factor}, part | {"shore_power": True})
    assert never_higher(chances, 0, 1)
    assert never_higher(chances, 0, 2)


@settings(max_examples=25)
@given(CLASS, VISITS, st.floats(1, 30), st.floats(1.0, 3.0))
def test_a_roomier_hull_never_raises_it(sinks, name, visits, volume, factor):
    part = {"item_class": name, "visited_every_days": visits}
    changes = part | {"flooding_volume_m3": volume}, part | {"flooding_volume_m3": volume * factor}
    assert never_higher(sinks(*changes), 0, 1)


def test_every_chance_is_one_and_no_end_states_exclude_each_other_over_one(kinds_of, trade, cube):
    kinds = kinds_of(*({"item_class": name, "visited_every_days": 60.0} for name in CLASSES))
    found = flooding_follows(kinds, trade, cube)
    total = sum(found[name].chance for name in (*SINKING, "partial_flooding"))
    assert all((each.chance >= 0).all() for each in found.values())
    assert total.max() <= 1.0 + ROUNDING


def test_messages_that_reach_the_keeper_save_boats_at_their_berth(sinks):
    berth, _ = sinks({"alarm_telemetry": True}, {"alarm_telemetry": False})
    assert berth[0, :, ALARM].mean() < 0.7 * berth[1, :, ALARM].mean()
    assert berth[0, :, NONE] == pytest.approx(berth[1, :, NONE])


def test_a_boat_said_to_send_messages_has_an_alarm_though_none_is_listed(sinks):
    berth, _ = sinks({"alarm_telemetry": True, "alarm_fitted": False}, {"alarm_fitted": False})
    assert (berth[0, :, NONE] < berth[1, :, NONE]).all()


def test_boats_on_trailers_hardly_sink_with_nobody_aboard_but_do_under_way(sinks):
    berth, sea = sinks(
        {"item_class": "bellows_drive", "state": "on_trailer"}, {"item_class": "bellows_drive"}
    )
    assert berth[0].mean() < 0.1 * berth[1].mean()
    assert sea[0] == pytest.approx(sea[1])


def test_nobody_is_under_way_in_a_boat_laid_up(sinks):
    _, sea = sinks({"state": "laid_up_afloat"}, {"state": "afloat_unattended"})
    assert sea.max() == 0.0


def test_a_boat_laid_up_ashore_does_not_sail_but_one_that_lives_in_a_rack_does(sinks):
    _, sea = sinks({"state": "ashore", "kept": "afloat"}, {"state": "ashore", "kept": "rack"}, {})
    assert sea[0].max() == 0.0
    assert sea[1] == pytest.approx(sea[2])


def test_a_multihull_stays_up_on_its_other_hull(sinks, kinds_of, trade, cube):
    changes = {"item_class": "transducer_fitting", "hulls": 3.0}, {"item_class": "transducer_fitting"}
    berth, _ = sinks(*changes)
    assert berth[0].mean() < 0.5 * berth[1].mean()
    wet = flooding_follows(kinds_of(*changes), trade, cube)["partial_flooding"].chance.mean(axis=(1, 2))
    assert wet[0] > wet[1]


def test_a_shut_seacock_keeps_the_sea_out_at_the_berth(sinks):
    berth, _ = sinks(
        {"item_class": "head_plumbing", "open_to_sea": "no"},
        {"item_class": "head_plumbing"},
        {"item_class": "head_plumbing", "open_to_sea": "yes"},
    )
    assert berth[0].max() == 0.0
    assert berth[1].mean() < berth[2].mean()


def test_a_seen_boat_is_a_nuisance_and_an_unseen_one_sinks(sinks):
    # The whole point: daily, weekly and monthly looks at the same torn bellows.
    part = {"item_class": "bellows_shift", "shore_power": False}
    berth, _ = sinks(*(part | {"visited_every_days": days} for days in (1.0, 7.0, 30.0)))
    daily, weekly, monthly = berth[:, :, NONE].mean(axis=1)
    assert daily < 0.6 * weekly
    assert weekly < 0.8 * monthly


def test_hurt_people_are_few_of_those_who_sink_under_way(kinds_of, trade, cube):
    found = flooding_follows(kinds_of({"item_class": "saildrive_diaphragm"}), trade, cube)
    assert (found["injury"].chance <= found["sinking_under_way"].chance).all()
    assert found["injury"].chance.mean() < 0.15 * found["sinking_under_way"].chance.mean()
