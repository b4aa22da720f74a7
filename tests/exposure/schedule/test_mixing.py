"""Parts of many ages as one: the mean over their ages, of unknown ones the assessment's own chance."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from riskmodel.exposure.schedule.ages import UNKNOWN
from riskmodel.exposure.schedule.mixing import Mix, tables_by_age
from riskmodel.risk import Horizon
from riskmodel.risk.draws import Draws

pytestmark = pytest.mark.thorough

YEAR = Horizon(date(2026, 6, 1), date(2027, 6, 1), "a year")
PUMP, HOSE, SWITCH = "bilge_pump", "fuel_feed_hose", "float_switch"


def parts_of(pump, hose):
    return [
        {"item_class": PUMP, "installed_on": pump},
        {"item_class": HOSE, "installed_on": hose},
        {"item_class": SWITCH, "installed_on": "2020-06-01"},
    ]


@pytest.fixture(scope="module")
def mixed(parquet_of, counted_kinds):
    """Chances and dead barriers of one kind of boat, by class."""

    def run(*each):
        kinds = counted_kinds(parquet_of([(4, {}, parts) for parts in each]))[1]
        assert len(kinds.kind) == 1
        tables = tables_by_age(kinds, YEAR, Draws(1))
        mix = Mix(kinds.number, kinds.classes, kinds.listed, tables, np.arange(1))
        names = list(kinds.learned.fleet.items["item_class"])
        return dict(zip(names, mix.drawn(kinds.learned), strict=True)), mix.dead(kinds.learned, "dead"), kinds

    return run


def test_half_young_half_old(mixed):
    """Boats with a 2-year pump or a 12-year one: the mean of both, neither their product nor that of a middle age."""
    young, old = parts_of("2024-06-01", "2024-06-01"), parts_of("2014-06-01", "2006-06-01")
    (chance_a, dead_a, _), (chance_b, dead_b, _), (chance, dead, _) = (
        mixed(young),
        mixed(old),
        mixed(young, old),
    )
    for name in (PUMP, HOSE):
        np.testing.assert_allclose(chance[name], (chance_a[name] + chance_b[name]) / 2, rtol=1e-10)
    np.testing.assert_allclose(dead[PUMP], (dead_a[PUMP] + dead_b[PUMP]) / 2, rtol=1e-10)
    assert (dead_b[PUMP] > 1.5 * dead_a[PUMP]).mean() > 0.9
    np.testing.assert_allclose(dead[SWITCH], dead_a[SWITCH], rtol=1e-10)


def test_half_dated_half_not(mixed):
    dated, undated = parts_of("2020-06-01", "2020-06-01"), parts_of(None, None)
    (chance_a, dead_a, _), (chance_b, dead_b, _), (chance, dead, kinds) = (
        mixed(dated),
        mixed(undated),
        mixed(dated, undated),
    )
    assert kinds.number[0, kinds.classes.index(PUMP), UNKNOWN] == 4
    for name in (PUMP, HOSE):
        np.testing.assert_allclose(chance[name], (chance_a[name] + chance_b[name]) / 2, rtol=1e-10)
    np.testing.assert_allclose(dead[PUMP], (dead_a[PUMP] + dead_b[PUMP]) / 2, rtol=1e-10)


def test_two_of_a_barrier(mixed):
    """Both of two pumps must be dead; each may have either age."""
    one, two = parts_of("2016-06-01", "2020-06-01"), parts_of("2016-06-01", "2020-06-01")
    two[0]["quantity"] = 2
    np.testing.assert_allclose(mixed(two)[1][PUMP], mixed(one)[1][PUMP] ** 2, rtol=1e-10)


def test_a_share_of_the_boats(mixed):
    """Half the boats have no pump: half the others' chance, and no pump at all is a dead one."""
    with_, without = parts_of("2016-06-01", "2020-06-01"), parts_of("2016-06-01", "2020-06-01")[1:]
    (one, dead_one, _), (half, dead_half, _) = mixed(with_), mixed(with_, without)
    np.testing.assert_allclose(half[PUMP], one[PUMP] / 2, rtol=1e-10)
    np.testing.assert_allclose(1 - dead_half[PUMP], (1 - dead_one[PUMP]) / 2, rtol=1e-10)


def test_a_block_of_rows_is_as_the_whole(equal):
    """Rows worked out by themselves find their own tables."""
    kinds = equal[0].kinds
    tables = tables_by_age(kinds, YEAR, Draws(1))
    whole = Mix(kinds.number, kinds.classes, kinds.listed, tables, np.arange(len(kinds.kind)))
    fleet = kinds.learned.fleet
    last = fleet.items["vessel_id"] == fleet.vessels["vessel_id"].iloc[-1]
    some = replace(
        fleet,
        vessels=fleet.vessels.iloc[-1:].reset_index(drop=True),
        items=fleet.items[last].reset_index(drop=True),
    )
    mine = Mix(kinds.number[-1:], kinds.classes, kinds.listed[-1:], tables, np.arange(len(kinds.kind))[-1:])
    found = mine.drawn(replace(kinds.learned, fleet=some))
    np.testing.assert_array_equal(found, whole.drawn(kinds.learned)[last.to_numpy()])
