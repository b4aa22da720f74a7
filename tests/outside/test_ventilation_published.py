"""Airing a fuel space against the regulation's text, and gases against the ideal gas and published exposures."""

import numpy as np
import pytest
from scipy import constants

from riskmodel.consequence.carbon_monoxide import carboxyhaemoglobin, parts_per_million
from riskmodel.consequence.fire.vapour import relative_density, vapour_volume
from riskmodel.consequence.fire.ventilation import (
    blower_output_cfm,
    blower_rating,
    blower_rating_cfm,
    exhaust_duct_is_low_enough,
    intake_duct_is_low_enough,
    natural_vent_area,
    natural_vent_area_sqin,
    open_area,
)
from riskmodel.trade import load_trade

TRADE = load_trade()


@pytest.mark.parametrize(
    ("volume", "rating", "output"),
    # 33 CFR 183.610 Table, columns 2 and 3: from memory, the text has not been read.
    [(10, 50, 20), (33.9, 50, 20), (50, 75, 30), (100, 150, 60), (200, 200, 80), (400, 300, 120)],
)
def test_the_blower_table_gives_the_rules_flows(volume, rating, output):
    assert blower_rating_cfm(volume) == pytest.approx(rating)
    assert blower_output_cfm(volume) == pytest.approx(output)


def test_the_blower_table_is_continuous_at_100_cubic_feet_and_all_but_continuous_at_34():
    # 33 CFR 183.610 Table, from memory: 150 and 60 meet; 51 stands against 50 and 20.4 against 20.
    for flow, step in ((blower_rating_cfm, 1.0), (blower_output_cfm, 0.4)):
        assert flow(100.0 + 1e-9) == pytest.approx(flow(100.0))
        assert flow(34.0) - flow(34.0 - 1e-9) == pytest.approx(step)


@pytest.mark.parametrize("volume", [5.0, 33.0, 34.0, 60.0, 100.0, 250.0, 1000.0])
def test_what_leaves_the_boat_is_two_fifths_of_the_rating_throughout_the_table(volume):
    # 33 CFR 183.610 Table, from memory: column 3 is 0.4 of column 2 in every row, which the judged range must hold.
    assert blower_output_cfm(volume) / blower_rating_cfm(volume) == pytest.approx(0.4)
    row = TRADE.physics["fire_blower_output"]
    assert row.low < 0.4 < row.high
    assert row.status == "from memory"


def test_a_space_of_one_cubic_metre_needs_a_blower_of_a_metre_and_a_half_a_minute():
    # 35.3147 cubic feet in a cubic metre: the middle formula, 1.5 V, is the same number in metres a minute.
    assert blower_rating(1.0) == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("volume", "area"),
    [(20.0, 6.931), (50.0, 11.513), (100.0, 14.979), (200.0, 18.444), (5.0, 3.0), (9.0, 3.0)],
)
def test_natural_vents_follow_the_rules_logarithm(volume, area):
    # 33 CFR 183.630(d), text read: A = 5 ln(V/5); (e), text read: more than 3 square inches each.
    assert natural_vent_area_sqin(volume) == pytest.approx(area, abs=1e-3)


def test_natural_vents_in_square_centimetres_are_the_same_vents():
    # 33 CFR 183.630(d), text read: 100 cubic feet, 14.979 square inches.
    assert natural_vent_area(100 * constants.foot**3) == pytest.approx(14.979 * 6.4516, rel=1e-4)


def test_fifteen_square_inches_a_cubic_foot_are_open_to_the_atmosphere():
    # 33 CFR 183.605, text read.
    assert open_area(constants.foot**3) == pytest.approx(15 * 6.4516)


def test_the_duct_that_draws_off_ends_in_the_lower_third_above_bilge_water():
    # 33 CFR 183.610(d), text read.
    assert exhaust_duct_is_low_enough(0.30, 0.05)
    assert exhaust_duct_is_low_enough(1 / 3, 0.05)
    assert not exhaust_duct_is_low_enough(0.40, 0.05)
    assert not exhaust_duct_is_low_enough(0.04, 0.05)
    assert not exhaust_duct_is_low_enough(0.05, 0.05)


def test_the_duct_that_lets_in_reaches_midway_down_or_below_the_carburettor():
    # 46 CFR 25.40-1, from memory; a county's boating code that was read has the same words.
    assert intake_duct_is_low_enough(0.5)
    assert not intake_duct_is_low_enough(0.6)
    assert intake_duct_is_low_enough(0.6, carburettor_intake=0.7)
    assert not intake_duct_is_low_enough(0.8, carburettor_intake=0.7)


def test_a_litre_of_gasoline_gives_the_ideal_gas_volume_of_vapour():
    # 740 g at 100 g/mol (handbook, from memory) in an ideal gas of 24.055 L/mol at 20 degC.
    assert vapour_volume(0.74, 100.0, 20.0) == pytest.approx(7.4 * 0.0240551, rel=1e-4)
    expected = 7.4 * constants.R * 293.15 / constants.atm
    assert vapour_volume(0.74, 100.0) == pytest.approx(expected, rel=1e-12)
    assert 0.15 < vapour_volume(0.74, 100.0) < 0.20


def test_gasoline_vapour_is_three_to_four_times_as_heavy_as_air():
    # Handbook figure, from memory.
    assert 3.0 < relative_density(100.0) < 4.0


def test_a_cup_of_gasoline_makes_three_cubic_metres_of_air_flammable():
    # Lower flammable limit 1.4 % (handbook, from memory): a quarter of a litre holds 44 L of vapour, enough for 3 m3.
    assert vapour_volume(0.74, 100.0) / 4 / 0.014 == pytest.approx(3.18, abs=0.01)


@pytest.mark.parametrize("fuel", ["gasoline", "diesel"])
def test_flash_points_agree_with_saturation_and_lower_limit(fuel):
    # Flash points (handbook, from memory): gasoline about -43 degC, diesel above 52 degC. At the flash point the vapour
    # over the liquid just reaches the lower limit; vapour pressure doubles every so many degrees from 20.
    rows = [TRADE.physics[f"fire_{fuel}_{name}"].typical for name in ("lower_limit", "saturation")]
    flash = 20.0 + TRADE.physics["fire_vapour_doubling"].typical * np.log2(rows[0] / rows[1])
    assert -75.0 < flash < -40.0 if fuel == "gasoline" else flash > 52.0


@pytest.mark.parametrize(("ppm", "balance"), [(35, 0.0516), (100, 0.1345), (1000, 0.6085)])
def test_blood_comes_to_haldanes_balance_in_the_end(ppm, balance):
    # Haldane's relation with M = 218 and 100 mmHg of oxygen (from memory): x / (1 + x), x = 218 ppm 713e-6 / 100.
    assert carboxyhaemoglobin(ppm, 1e6, 6.0) == pytest.approx(balance, abs=2e-4)


def test_an_hour_at_100_ppm_agrees_with_the_curve_fitted_to_volunteers():
    # Peterson and Stewart 1970, from memory: log %COHb = 0.858 log ppm + 0.63 log min - 2.295.
    fitted = 10 ** (0.858 * np.log10(100) + 0.63 * np.log10(60) - 2.295) / 100
    assert carboxyhaemoglobin(100, 60, 9.0) == pytest.approx(fitted, rel=0.2)


def test_half_an_hour_at_the_dangerous_limit_is_near_but_below_collapse():
    # NIOSH: 1,200 ppm is immediately dangerous to life or health, half an hour to get out (from memory).
    assert 0.12 < carboxyhaemoglobin(1200, 30, 9.0) < 0.25


def test_parts_per_million_are_grams_over_air():
    # 1 ppm of carbon monoxide is 1.16 mg/m3 at 20 degC (handbook, from memory).
    assert parts_per_million(1164.0, 1e4) == pytest.approx(100.0, rel=0.001)
