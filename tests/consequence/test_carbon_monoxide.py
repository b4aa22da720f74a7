"""Exhaust inside the boat: from gas to strength to blood to harm, and what may never raise or lower it."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.consequence.carbon_monoxide import (
    USES,
    cabins,
    carbon_monoxide_classes,
    carbon_monoxide_follows,
    carboxyhaemoglobin,
    engine_gas,
    mean_rise,
    parts_per_million,
)
from riskmodel.consequence.exhaust_leaks import exhaust_modes
from riskmodel.consequence.exhaust_told import carbon_monoxide_steps
from riskmodel.consequence.follow import SCENARIOS, scenarios
from riskmodel.errors import ParameterError
from riskmodel.trade import load_trade

TRADE, CUBE = load_trade(), scenarios()
CLASSES = ("wet_exhaust_hose", "exhaust_muffler", "exhaust_riser", "bellows_exhaust")
CRUISER = {
    "fuel": "gasoline",
    "propulsion": "inboard_shaft",
    "length_m": 9.0,
    "people_aboard": np.nan,
    "cabin_m3": np.nan,
}


def kinds(*rows):
    return pd.DataFrame([CRUISER | {"item_class": "wet_exhaust_hose"} | row for row in rows])[list(USES)]


def harm(*rows, trade=TRADE):
    """(n, S) chances of breathing exhaust."""
    return carbon_monoxide_follows(kinds(*rows), trade, CUBE)["carbon_monoxide"].chance[:, :, 0]


def leaks_by(factor, column):
    low, high = f"{column}_low", f"{column}_high"
    return replace(
        TRADE,
        exhaust_leaks=tuple(
            replace(row, **{low: getattr(row, low) * factor, high: min(getattr(row, high) * factor, limit)})
            for row in TRADE.exhaust_leaks
            for limit in (1.0 if column in ("gas", "inside") else np.inf,)
        ),
    )


def physics_by(factor, *names):
    changed = {
        name: replace(row, low=row.low * factor, typical=row.typical * factor, high=row.high * factor)
        for name, row in TRADE.physics.items()
        if name in names
    }
    return replace(TRADE, physics={**TRADE.physics, **changed})


# Order of size: the ranges judged for a failure on a gasoline inboard cruiser. The inputs were tuned to them:
# calibrated, not checked.


@pytest.mark.parametrize("length", [7.5, 8.5, 10.0])
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("wet_exhaust_hose", 0.0005, 0.005),
        ("exhaust_muffler", 0.0005, 0.004),
        ("exhaust_riser", 0.0001, 0.001),
        ("bellows_exhaust", 0.00005, 0.0005),
    ],
)
def test_a_gasoline_cruiser_lies_in_the_judged_range(name, low, high, length):
    (chance,) = harm({"item_class": name, "length_m": length}).mean(axis=1)
    assert low <= chance <= high


@pytest.mark.parametrize("name", CLASSES)
def test_diesel_is_far_below_gasoline(name):
    gasoline, diesel = harm({"item_class": name}, {"item_class": name, "fuel": "diesel"})
    assert (diesel < gasoline).all()
    assert gasoline.mean() > 15 * diesel.mean()


def test_gas_inside_the_hull_is_worse_than_gas_at_the_stern():
    hose, bellows = harm({}, {"item_class": "bellows_exhaust"}).mean(axis=1)
    assert hose > 4 * bellows


# What may never raise or lower it.


@pytest.mark.parametrize("column", ["gas", "inside", "minutes", "occasions"])
@pytest.mark.parametrize("name", CLASSES)
def test_a_larger_or_longer_leak_never_lowers_the_chance(column, name):
    row = {"item_class": name}
    usual, more = harm(row), harm(row, trade=leaks_by(1.5, column))
    assert (more >= usual).all()
    assert more.sum() > usual.sum()


def test_more_fresh_air_never_raises_the_chance():
    assert (harm({}, trade=physics_by(2.0, "co_air_changes")) < harm({})).all()


def test_more_alarms_never_raise_the_chance():
    assert (harm({}, trade=physics_by(1.2, "co_alarm_fitted")) <= harm({})).all()


def test_a_larger_cabin_never_raises_the_chance():
    chance = harm(*({"cabin_m3": volume} for volume in (3.0, 8.0, 20.0, 60.0)))
    assert (np.diff(chance, axis=0) < 0).all()


def test_an_open_boat_has_far_less_than_a_cabin():
    cabin, opened = harm({"cabin_m3": 10.0}, {"cabin_m3": 0.0})
    assert (opened > 0).all()
    assert opened.mean() < 0.2 * cabin.mean()


def test_a_small_motor_boat_is_mostly_open():
    small, usual = harm({"length_m": 5.0, "cabin_m3": 8.0}, {"length_m": 5.0}).mean(axis=1)
    assert usual < 0.3 * small


def test_more_people_aboard_never_lower_the_chance():
    chance = harm(*({"people_aboard": people} for people in (0.0, 1.0, 3.0, 8.0)))
    assert (chance[0] == 0).all()
    assert (np.diff(chance, axis=0) > 0).all()


@pytest.mark.parametrize("fuel", ["electric", "none"])
def test_a_boat_without_exhaust_has_no_path(fuel):
    found = carbon_monoxide_follows(kinds({"fuel": fuel}), TRADE, CUBE)
    assert all((follow.chance == 0).all() for follow in found.values())


def test_a_class_without_exhaust_has_no_path():
    assert (harm({"item_class": "fuel_fill_hose"}) == 0).all()


def test_no_barrier_changes_it():
    chance = carbon_monoxide_follows(kinds({}), TRADE, CUBE)["carbon_monoxide"].chance
    assert chance.shape == (1, SCENARIOS, 4)
    assert (chance == chance[:, :, :1]).all()


def test_most_who_breathe_that_much_are_hurt_and_not_all():
    found = carbon_monoxide_follows(kinds({}), TRADE, CUBE)
    ratio = found["injury"].chance / found["carbon_monoxide"].chance
    assert (ratio > 0.3).all()
    assert (ratio <= 1.0).all()


def test_no_kinds_have_no_chances():
    found = carbon_monoxide_follows(kinds({}).iloc[:0], TRADE, CUBE)
    assert found["injury"].chance.shape == (0, SCENARIOS, 4)


def test_every_class_with_a_path_to_exhaust_is_answered_for():
    assert carbon_monoxide_classes(TRADE) == set(CLASSES)
    judged = {
        name
        for name, item_class in TRADE.classes.items()
        for path in item_class.paths
        if path.end_state == "carbon_monoxide"
    }
    assert judged <= set(CLASSES)


@pytest.mark.parametrize("name", CLASSES)
def test_the_ways_of_leaking_add_up_and_the_worst_is_found_soonest(name):
    modes = exhaust_modes(name, TRADE, CUBE)
    assert sum(mode.share for mode in modes) == pytest.approx(1.0)
    gas = [mode.gas.mean() for mode in modes]
    minutes = [mode.minutes.mean() for mode in modes]
    assert gas == sorted(gas)
    assert minutes == pytest.approx(sorted(minutes, reverse=True), rel=0.02)


# The steps.


def test_a_motor_boat_of_nine_metres_gives_off_kilograms_an_hour():
    gasoline, diesel, sail = np.median(
        engine_gas(kinds({}, {"fuel": "diesel"}, {"propulsion": "sail_shaft"}), TRADE, CUBE), axis=1
    )
    assert 3000 < gasoline < 8000
    assert gasoline / diesel == pytest.approx(50, rel=0.25)
    assert sail < gasoline / 4


def test_a_cabin_given_is_taken_and_a_blank_or_open_one_follows_the_length():
    found = cabins(kinds({"cabin_m3": 4.0}, {}, {"cabin_m3": 0.0}), TRADE, CUBE)
    assert (found[0] == 4.0).all()
    assert found[1] == pytest.approx(found[2])
    assert np.median(found[1]) == pytest.approx(10.2, rel=0.1)


def test_a_sealed_space_fills_with_gas_in_the_end():
    assert parts_per_million(1.0, 0.0) == pytest.approx(1e6)
    assert parts_per_million(0.0, 0.0) == 0.0


def test_the_mean_of_the_rise_starts_at_nothing_and_ends_at_all_of_it():
    assert mean_rise(6.0, 0.0) == 0.0
    assert mean_rise(6.0, 0.01) == pytest.approx(0.0005, rel=1e-3)
    assert mean_rise(6.0, 1e7) == pytest.approx(1.0, abs=1e-5)
    times = np.linspace(0.0, 600.0, 6001)
    rise = 1.0 - np.exp(-6.0 * times / 60.0)
    assert mean_rise(6.0, 600.0) == pytest.approx(np.trapezoid(rise, times) / 600.0, rel=1e-5)


@given(st.floats(0, 1e5), st.floats(0, 1e5), st.floats(0, 1e4), st.floats(0.1, 30))
def test_more_gas_never_lowers_the_uptake(one, other, minutes, breathing):
    thin, thick = sorted((one, other))
    assert (
        carboxyhaemoglobin(thin, minutes, breathing) <= carboxyhaemoglobin(thick, minutes, breathing) + 1e-12
    )


@given(st.floats(0, 1e5), st.floats(0, 1e4), st.floats(0, 1e4), st.floats(0.1, 30))
def test_longer_breathing_never_lowers_the_uptake_and_it_is_a_share(ppm, one, other, breathing):
    short, long = sorted((one, other))
    found = carboxyhaemoglobin(ppm, [short, long], breathing)
    assert found[0] <= found[1]
    assert found[0] >= 0
    assert found[1] < 1


def test_deeper_breathing_takes_up_more():
    found = carboxyhaemoglobin(200.0, 30.0, [6.0, 9.0, 14.0])
    assert (np.diff(found) > 0).all()


def test_clean_air_and_no_breath_take_up_nothing():
    assert carboxyhaemoglobin(0.0, 100.0, 9.0) == 0.0
    assert carboxyhaemoglobin(500.0, 100.0, 0.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("refused", "says"),
    [
        (lambda: parts_per_million(-1.0, 1.0), "grams_an_hour must be 0 or more"),
        (lambda: parts_per_million(1.0, -1.0), "air_m3_an_hour must be 0 or more"),
        (lambda: mean_rise(-1.0, 1.0), "changes_an_hour must be 0 or more"),
        (lambda: carboxyhaemoglobin(-1.0, 1.0, 1.0), "ppm must be 0 or more"),
        (lambda: carboxyhaemoglobin(1.0, np.inf, 1.0), "minutes must be 0 or more and finite"),
        (lambda: carboxyhaemoglobin(1.0, 1.0, -1.0), "breathing_l_per_min must be 0 or more"),
    ],
)
def test_impossible_gases_are_refused(refused, says):
    with pytest.raises(ParameterError, match=says):
        refused()


@pytest.mark.parametrize("name", CLASSES)
def test_every_step_told_has_a_value_and_a_source(name):
    lines = carbon_monoxide_steps(kinds({"item_class": name}), TRADE, CUBE)
    assert len(lines) == 11
    assert all(what and value and source for what, value, source in lines)
    assert "ppm" in " ".join(value for _, value, _ in lines)
    assert "stop the engine" in lines[-1][1]


def test_a_cabin_is_told_as_the_boats_own_where_it_is_given():
    def cabin(row):
        return {what: rest for what, *rest in carbon_monoxide_steps(kinds(row), TRADE, CUBE)}[
            "Space people sit or sleep in"
        ]

    assert cabin({"cabin_m3": 12.0}) == ["12 m3", "your vessels table"]
    assert "judgement" in cabin({})[1]
    assert cabin({"cabin_m3": 0.0})[0].startswith("an open boat")


@pytest.mark.parametrize("row", [{"fuel": "electric"}, {"item_class": "shaft_packing"}])
def test_nothing_is_told_where_there_is_no_exhaust(row):
    assert carbon_monoxide_steps(kinds(row), TRADE, CUBE) == ()
