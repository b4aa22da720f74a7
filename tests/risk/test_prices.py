"""Money in the fleet's own currency: all of it times a number is every answer in money times that number."""

import csv

import numpy as np
import pytest

from riskmodel.errors import TableError
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.fleet.settings import read_settings
from riskmodel.risk import assess
from riskmodel.risk.prices import price_notes, priced_trade
from riskmodel.trade import load_trade

MONEY = ("expected_loss", "loss_low", "loss_high", "loss_averted", "look_value", "task_cost", "haul_out_cost")
SAME = ("failure_probability", "sinking_probability", "kill_probability", "rank_expected", "averted_per_cost")
WORDS = ("best_task", "severity", "group", "rank", "rank_low", "rank_high")
# A currency worth little and one worth much.
TIMES = (150.0, 0.02)


def in_other_money(two_boats, times):
    boats = [{**boat, "value": times * boat.get("value", 40000)} for boat in two_boats["boats"]]
    return {**two_boats, "boats": boats, "settings": f'currency = "ABC"\nprice_scale = {times}\n'}


@pytest.fixture(scope="module")
def plain(two_boats, fleet_of):
    return assess(fleet_of(**two_boats))


@pytest.fixture(scope="module", params=TIMES)
def scaled(request, two_boats, fleet_of):
    return request.param, assess(fleet_of(**in_other_money(two_boats, request.param)))


def test_all_money_times_a_number_is_every_answer_in_money_times_it(plain, scaled):
    times, other = scaled
    for name in MONEY:
        np.testing.assert_allclose(other[name], times * plain[name], rtol=1e-9, atol=1e-12 * times)
    for name in SAME:
        np.testing.assert_allclose(other[name], plain[name], rtol=1e-9)
    assert other.frame[list(WORDS)].equals(plain.frame[list(WORDS)])


def test_so_is_an_insurers_year(plain, scaled):
    times, other = scaled
    here, there = exposure_of(plain, Policy(deductible=500.0)), exposure_of(other, Policy(500.0 * times))
    for side in ("before", "after"):
        one, two = getattr(here, side), getattr(there, side)
        assert two.total.mean == pytest.approx(times * one.total.mean, rel=1e-9)
        assert two.total.sd == pytest.approx(times * one.total.sd, rel=1e-9)
        columns = one.table.columns.drop("return_period")
        # A quantile is a point of the lattice: the last digit may take the next one.
        step = one.years.lattice.step
        np.testing.assert_allclose(two.table[columns] / times, one.table[columns], rtol=1e-6, atol=2 * step)


def test_what_the_keeper_gives_is_not_multiplied(assessed):
    renewed = [{"item_class": "deck_bedding", "renew_cost": 777.0}]
    result = assessed(renewed, settings='currency = "ABC"\nprice_scale = 10\n')
    costs = result.tasks.loc[result.tasks["does"] == "renew", "cost"]
    assert (costs - costs.min() < 1e-9).all()
    assert costs.iloc[0] >= 777.0


def test_rows_of_ones_own_in_the_fleets_currency_stand_as_they_are(tmp_path, written):
    folder = written([{"item_class": "deck_bedding"}])
    own = folder / "ours"
    own.mkdir()
    task = load_trade().classes["deck_bedding"].tasks[0]
    row = {name: getattr(task, name) for name in vars(task)}
    row |= {
        "currency": "ABC",
        "cost_low": 11,
        "cost_high": 12,
        "out_of_water": "no" if not task.out_of_water else "yes",
    }
    with (own / "tasks.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, row)
        writer.writeheader()
        writer.writerow({name: "" if value is None else value for name, value in row.items()})
    (folder / "settings.toml").write_text('currency = "ABC"\nprice_scale = 10\ntrade = "ours"\n')
    trade = priced_trade(read_settings(folder))
    mine, *others = trade.classes["deck_bedding"].tasks[::-1]
    assert {each.currency for each in (mine, *others, trade.haul_out)} == {"ABC"}
    assert (mine.cost_low, mine.cost_high) == (11, 12)
    assert trade.haul_out.cost_low == 10 * load_trade().haul_out.cost_low


def test_the_page_says_what_prices_were_multiplied_by(plain, scaled):
    times, other = scaled
    assert price_notes(plain.fleet.settings) == ()
    told = [note for note in other.notes if "price_scale" in note]
    assert len(told) == 1
    assert f"figures in USD of 2025, times {times:g} for ABC" in told[0]


def test_a_fleet_in_another_currency_that_does_not_say_its_price_is_refused(fleet_of):
    with pytest.raises(TableError, match="price_scale must say how many EUR one USD costs"):
        fleet_of([{"item_class": "deck_bedding"}], settings='currency = "EUR"\n')
