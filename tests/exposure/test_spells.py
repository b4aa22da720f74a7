"""What spells do to the hazards of assessed boats, and to whom."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from riskmodel.exposure.book import book_of
from riskmodel.exposure.conditions import Condition, price_condition
from riskmodel.exposure.cover import Policy
from riskmodel.exposure.exposed import exposure_of
from riskmodel.exposure.spells import scenarios_of, spells_of
from riskmodel.trade import load_trade

pytestmark = pytest.mark.thorough

UNTIL = date(2027, 6, 1)
PARTS = (
    {"item_class": "shaft_packing", "installed_on": "2016-04-02"},
    {"item_class": "raw_water_hose", "installed_on": "2012-04-02"},
    {"item_class": "bilge_pump", "installed_on": "2024-04-02"},
    {"item_class": "float_switch", "installed_on": "2024-04-02"},
)
BOAT = {"propulsion": "sail_shaft", "fuel": "diesel", "checked_every_days": 14}
BOATS = (
    {"vessel_id": "B1", "home_port": "Quay", "climate": "cold", **BOAT},
    {"vessel_id": "B2", "home_port": "Quay", "climate": "tropical", **BOAT},
    {"vessel_id": "B3", "home_port": "Pool", **BOAT},
    {"vessel_id": "B4", "home_port": "Quay", "climate": "cold", **BOAT, "shore_power": "no"},
)


@pytest.fixture(scope="module")
def quay(assessed):
    def make(boats=BOATS, until=UNTIL):
        items = [
            item | {"vessel_id": boat["vessel_id"], "item_id": f"{boat['vessel_id']}-{n}"}
            for boat in boats
            for n, item in enumerate(PARTS)
        ]
        return assessed(items, boats=list(boats), until=until)

    return make


@pytest.fixture(scope="module")
def result(quay):
    return quay()


@pytest.fixture(scope="module")
def spells(result):
    return spells_of(result, book_of(result))


def rise(spells, result, spell, state):
    """Mean rise by row of the place."""
    states = book_of(result).states
    return spells.rises[spells.names.index(spell), :, states.index(state)].mean(axis=1)


def test_only_boats_that_share_a_place_are_in_it(spells):
    assert [list(rows) for rows in spells.together] == [[0, 1, 3]]
    assert spells.names == ("power_cut", "nobody_comes", "hard_frost")
    assert (spells.rises >= 1).all()


def test_a_power_cut_raises_sinkings_where_there_is_power(spells, result):
    with_power, _, without = rise(spells, result, "power_cut", "sinking_unattended")
    assert with_power > 1.0005
    assert without == 1.0


def test_frost_spares_warm_places_and_parts_that_hold_no_water(spells, result):
    cold, tropical, _ = rise(spells, result, "hard_frost", "machinery_damage")
    assert cold > 1.2
    assert tropical == 1.0
    assert (rise(spells, result, "hard_frost", "sinking_unattended") <= 6.0).all()


def test_spells_come_as_often_as_the_table_says(spells, result):
    for name, often in zip(spells.names, spells.often, strict=True):
        row = result.trade.place_years[name]
        assert row.chance_low < often.mean() < row.chance_high
    assert (spells.often.sum(axis=0) < 1).all()


def test_half_the_time_has_half_the_chance_and_more_of_the_spell_in_it(quay, spells):
    half = quay(until=date(2026, 12, 1))
    found = spells_of(half, book_of(half))
    np.testing.assert_allclose(found.often.mean(axis=1), spells.often.mean(axis=1) / 2, rtol=0.05)
    usual, short = (
        rise(each, of, "nobody_comes", "sinking_unattended")[0] - 1
        for each, of in ((spells, quay()), (found, half))
    )
    assert short > 1.3 * usual


def test_boats_by_themselves_have_no_spells(quay):
    apart = quay([boat | {"home_port": name} for boat, name in zip(BOATS[:3], ("A", "", "B"), strict=True)])
    assert spells_of(apart, book_of(apart)) is None
    exposed = exposure_of(apart)
    assert exposed.after.apart is exposed.after.total


def test_an_organisation_may_leave_spells_out(result, tmp_path):
    head = (
        "spell,label,chance_low,chance_high,days,climate,classes,factor_low,factor_high,note,source,status\n"
    )
    rows = "power_cut,none,0,0,7,,,,,,us,judgement\nnobody_comes,none,0,0,30,,,,,,us,judgement\n"
    (tmp_path / "place_years.csv").write_text(head + rows)
    own = replace(result, learned=replace(result.learned, trade=load_trade(tmp_path)))
    assert spells_of(own, book_of(own)).names == ("hard_frost",)
    assert [each.name for each in scenarios_of(own.trade)] == ["power_cut", "nobody_comes"]


def test_no_mean_moves_and_contributions_add_up(result):
    exposed = exposure_of(result, Policy(deductible=300.0))
    side = exposed.after
    assert side.total.mean == pytest.approx(side.apart.mean, rel=1e-12)
    assert side.total.pmf @ side.total.losses == pytest.approx(side.total.mean, rel=1e-9)
    assert side.total.process_sd > side.apart.process_sd
    assert side.tail.sum() == pytest.approx(float(side.total.tail_mean(0.99)), rel=1e-9)


def test_a_condition_that_nobody_keeps_changes_nothing_at_a_place(result):
    exposed = exposure_of(result)
    none = price_condition(exposed, Condition("visits", "", 3.0), 0.0)
    assert none.tail_after == pytest.approx(none.tail_before, rel=1e-12)
    half = price_condition(exposed, Condition("visits", "", 3.0), 0.5)
    assert half.total.pmf @ half.total.losses == pytest.approx(half.mean_after, rel=1e-9)
    assert half.mean_after < half.mean_before
