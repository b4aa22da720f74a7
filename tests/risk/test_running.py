"""Running hours a year: measured between meter readings where there are any, and two clocks on what wears by both."""

import numpy as np
import pandas as pd
import pytest

from riskmodel.life import LifeRows, fit_life
from riskmodel.life.looks import window_nodes
from riskmodel.life.seed import seed_class, seed_hours
from riskmodel.risk.chances import drawn_parameters
from riskmodel.risk.class_risk import class_risk
from riskmodel.risk.draws import DRAWS, Draws
from riskmodel.risk.parts import Parts
from riskmodel.risk.running import LEAST_RATE, hours_rates
from riskmodel.trade import load_trade

TRADE = load_trade()
BOATS = ({"vessel_id": "B1", "hours_per_year": 50}, {"vessel_id": "B2", "hours_per_year": 120})
ITEM = {"item_class": "raw_water_impeller", "installed_on": "2020-05-01", "installed_hours": 100}


def read(date, hours, event="hours_read", boat="B1"):
    return {"vessel_id": boat, "date": date, "event": event, "hours": hours}


@pytest.fixture(scope="module")
def rates(fleet_of):
    def run(*records, boats=BOATS):
        return hours_rates(fleet_of([ITEM], list(records), boats))

    return run


def test_without_readings_it_is_what_the_keeper_stated(rates):
    assert rates().to_dict() == {"B1": 50, "B2": 120}


def test_two_readings_measure_it(rates):
    found = rates(read("2022-05-01", 200), read("2025-05-01", 500))
    assert found["B1"] == pytest.approx(100, rel=1e-3)
    assert found["B2"] == 120


def test_readings_between_and_their_order_change_nothing(rates):
    ends = read("2022-05-01", 200), read("2025-05-01", 500)
    between = read("2023-08-01", 260), read("2024-05-01", 470)
    assert rates(*ends[::-1], *between)["B1"] == pytest.approx(rates(*ends)["B1"], rel=1e-9)


def test_readings_on_records_of_parts_count_too(rates):
    test = {"item_id": "I0", "date": "2025-05-01", "event": "inspected", "finding": "sound", "hours": 500}
    assert rates(read("2022-05-01", 200), test)["B1"] == pytest.approx(100, rel=1e-3)


def test_one_reading_or_two_close_together_tell_little(rates):
    assert rates(read("2025-05-01", 500))["B1"] == 50
    assert rates(read("2025-05-01", 480), read("2025-08-01", 500))["B1"] == 50


def test_a_changed_meter_splits_the_readings(rates):
    # 100 a year on the old meter for two years, then 50 a year on the new for two: 300 hours in four years.
    found = rates(
        read("2020-05-01", 800),
        read("2022-05-01", 1000),
        read("2022-06-01", 0, "meter_changed"),
        read("2024-06-01", 100),
    )
    assert found["B1"] == pytest.approx(75, rel=0.01)


def test_readings_on_either_side_of_a_changed_meter_are_not_compared(rates):
    found = rates(read("2020-05-01", 800), read("2022-06-01", "", "meter_changed"), read("2024-06-01", 900))
    assert found["B1"] == 50


def test_a_boat_that_never_ran_still_has_a_clock(rates):
    assert rates(read("2020-05-01", 300), read("2024-05-01", 300))["B1"] == LEAST_RATE
    assert rates(boats=({"hours_per_year": 0},))["B1"] == LEAST_RATE


def test_only_classes_with_both_clocks_have_two_lives(assessed):
    items = [ITEM, {"item_class": "raw_water_hose", "installed_on": "2020-05-01"}]
    assert set(assessed(items, boats=BOATS).lives.clocks) == {"raw_water_impeller"}


def test_hours_end_an_impeller_sooner_on_a_boat_that_runs_more(rows_of):
    def chance(hours):
        return rows_of([ITEM], boats=({"hours_per_year": hours},)).loc["I0", "failure_probability"]

    idle, usual, busy = chance(5), chance(100), chance(600)
    assert idle < usual < busy


def test_measured_hours_move_the_chance_as_stated_hours_do(rows_of):
    records = read("2020-05-01", 100), read("2026-05-01", 700)
    measured = rows_of([ITEM], records, ({"hours_per_year": 5},))
    stated = rows_of([ITEM], records, ({"hours_per_year": 100},))
    assert measured["failure_probability"].tolist() == pytest.approx(stated["failure_probability"], rel=1e-9)


def test_new_on_the_meter_is_safer_than_worn(rows_of):
    def chance(at_installation):
        records = [read("2026-05-01", 700)]
        item = ITEM | {"installed_hours": at_installation, "installed_on": "2024-05-01"}
        return rows_of([item], records, ({"hours_per_year": 100},)).loc["I0", "failure_probability"]

    assert chance(690) < chance(400) < chance(0)


def impeller(years, metered, sd):
    """One impeller in reference surroundings, its hours told by a meter or by its age."""
    one, none, nowhere = np.ones(1), np.zeros(1), np.full(1, -1)
    return Parts(
        age=years * one,
        gap=none,
        quantity=one,
        cell=nowhere,
        ages=none,
        weights=np.zeros((0, 3, 1)),
        kind=np.zeros(1, dtype=np.intp),
        speed=np.ones((1, 1)),
        reach=one,
        looks=None,
        windows=window_nodes(0.1, 0.5),
        lot=nowhere,
        lots=(),
        lot_correction=1.0,
        hours=100.0 * years * one if metered else none,
        unmetered=none if metered else years * one,
        rate=100.0 * one,
        rate_sd=sd,
    )


def impeller_chance(years, metered, sd):
    """Mean chance in a year, with the class's lives by age and by hours before any record."""
    item_class = TRADE.classes["raw_water_impeller"]
    share = TRADE.care["share_renewing_at_interval"]
    life = fit_life(LifeRows.none(), seed_class(item_class, (share.low, share.typical, share.high)).prior)
    hours = fit_life(LifeRows.none(), seed_hours(item_class, 100.0))
    parameters = drawn_parameters("raw_water_impeller", life, hours, Draws())
    parts = impeller(years, metered, sd)
    standing = pd.DataFrame(
        {"let_go": [False], "needs_work": [False], "found": [""], "found_ago": [np.nan], "reach": [1.0]}
    )
    gathered = parts, parts, np.zeros(1)
    risk = class_risk(item_class, life, gathered, parameters, standing, (1.0, np.full(DRAWS, 0.4)))
    return float(risk.mean[0]), risk.drawn, (life, hours)


@pytest.mark.parametrize("metered", [True, False])
@pytest.mark.parametrize("years", [1.0, 4.0])
def test_the_mean_is_that_of_both_lives_and_of_every_yearly_hours(metered, years):
    # In full: every node of both posteriors and a fine grid of yearly hours. Ours: draws and three points.
    mean, drawn, (life, hours) = impeller_chance(years, metered, 0.5)
    deviates = np.linspace(-6, 6, 241)
    weight = np.exp(-0.5 * deviates**2)
    rates = 100 * np.exp(0.5 * deviates)
    run = np.full(len(rates), 100 * years) if metered else rates * years
    by_hours = weight @ hours.failure_probability(run, rates) / weight.sum()
    by_age = float(life.failure_probability(years, 1.0))
    assert mean == pytest.approx(by_age + by_hours - by_age * by_hours, rel=0.02)
    assert drawn.mean() == pytest.approx(mean, rel=1e-6)


def test_hours_that_are_guessed_move_the_chance_and_metered_ones_less():
    sure, metered, guessed = (
        impeller_chance(3.0, *case)[0] for case in ((True, 0.0), (True, 0.5), (False, 0.5))
    )
    assert sure == pytest.approx(impeller_chance(3.0, False, 0.0)[0], rel=1e-9)
    assert abs(metered - sure) < abs(guessed - sure)


def test_renewal_takes_the_guessed_hours_off(rows_of):
    row = rows_of([ITEM], boats=({"hours_per_year": 300},)).loc["I0"]
    renewed = {"item_id": "I0", "date": "2026-05-30", "event": "replaced", "reason": "scheduled"}
    after = rows_of([ITEM], [renewed], ({"hours_per_year": 300},)).loc["I0"]
    assert after["failure_probability"] < 0.5 * row["failure_probability"]
